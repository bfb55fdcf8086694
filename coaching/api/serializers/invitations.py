"""Invitations, as they are made, listed and accepted."""

from typing import Any, Final

from rest_framework import serializers

from coaching.actions.signed_links import MAX_TOKEN_CHARACTERS
from coaching.api.serializers.coaches import TEAM_ROLES
from coaching.api.serializers.sessions import NamedSerializer
from coaching.http.unknown_fields import StrictSerializer
from coaching.models.people import Role
from coaching.selectors.invitations import STATES

INVITATION_STATES: Final = STATES


class InvitationInSerializer(StrictSerializer):
    """Whom to invite: somebody to the team by `role`, or a client to their own record by `client`."""

    email = serializers.EmailField(
        max_length=254, required=False, help_text="With `client` it may be left out where the client's is known."
    )
    role = serializers.ChoiceField(choices=TEAM_ROLES, required=False)
    client = serializers.UUIDField(required=False, help_text="The client whose record becomes theirs to see.")


class InvitationSerializer(serializers.Serializer[Any]):
    """An invitation; its link is in the mail alone."""

    id = serializers.UUIDField()
    email = serializers.EmailField()
    role = serializers.ChoiceField(choices=Role.choices)
    client = serializers.UUIDField(allow_null=True)
    invited_by = serializers.UUIDField(allow_null=True)
    state = serializers.ChoiceField(choices=INVITATION_STATES)
    sends = serializers.IntegerField(help_text="How often it was sent; the last link alone is good.")
    last_sent_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()
    accepted_at = serializers.DateTimeField(allow_null=True)
    withdrawn_at = serializers.DateTimeField(allow_null=True)
    created_at = serializers.DateTimeField()


class InvitationAcceptanceSerializer(StrictSerializer):
    """An invitation accepted."""

    token = serializers.CharField(max_length=MAX_TOKEN_CHARACTERS, help_text="The last part of the link's address.")
    name = serializers.CharField(max_length=200, required=False, help_text="Of a new account.")
    password = serializers.CharField(
        max_length=128,
        trim_whitespace=False,
        required=False,
        help_text="Of a new account, 12 characters at least; an account that its person uses already takes none.",
    )


class InvitationAcceptedSerializer(serializers.Serializer[Any]):
    """What somebody is now, and where; signing in is the next step."""

    business = NamedSerializer()
    role = serializers.ChoiceField(choices=Role.choices)
    new_account = serializers.BooleanField()
