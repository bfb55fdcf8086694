"""The team, as it is read and changed."""

from typing import Any

from rest_framework import serializers

from coaching.http.fields import TimeZoneField
from coaching.http.unknown_fields import StrictSerializer
from coaching.models.people import MembershipState, Role

TEAM_ROLES = [(role.value, role.label) for role in Role if role != Role.CLIENT]


class CoachChangeSerializer(StrictSerializer):
    """What an owner may change of somebody on the team."""

    role = serializers.ChoiceField(choices=TEAM_ROLES)
    time_zone = TimeZoneField(required=False)


class CoachInSerializer(CoachChangeSerializer):
    """Somebody to put on the team."""

    email = serializers.EmailField(max_length=254)
    name = serializers.CharField(max_length=200)
    password = serializers.CharField(
        max_length=128,
        trim_whitespace=False,
        required=False,
        help_text=(
            "A first password, of 12 characters at least; without one they can't sign in before they set one. Better "
            "left out: an invitation (POST /invitations) has them think up their own."
        ),
    )


class CoachSerializer(serializers.Serializer[Any]):
    """Somebody on the team."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    email = serializers.EmailField()
    role = serializers.ChoiceField(choices=TEAM_ROLES)
    time_zone = serializers.CharField()
    state = serializers.ChoiceField(choices=MembershipState.choices)
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
