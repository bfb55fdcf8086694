"""Signing in, and the sessions that it opens."""

from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from coaching.models.businesses import Unit
from coaching.models.people import Role

CALLER_KINDS = [("person", "person"), ("key", "key")]


class SignInSerializer(StrictSerializer):
    """Who signs in, and to which business."""

    email = serializers.CharField(max_length=254)
    password = serializers.CharField(max_length=128, trim_whitespace=False)
    code = serializers.CharField(
        required=False,
        max_length=40,
        help_text="Where the account has a second factor: the code that your app shows, or a recovery code.",
    )
    business = serializers.UUIDField(required=False, help_text="Needed by people who are in several businesses.")


class NamedSerializer(serializers.Serializer[Any]):
    """Something by its id and name."""

    id = serializers.UUIDField()
    name = serializers.CharField()


class SignedInSerializer(serializers.Serializer[Any]):
    """A session just opened."""

    id = serializers.UUIDField()
    token = serializers.CharField(help_text="Shown this once; send it as Authorization: Bearer.")
    expires_at = serializers.DateTimeField(allow_null=True)
    business = NamedSerializer()
    role = serializers.ChoiceField(choices=Role.choices)
    needs_second_factor = serializers.BooleanField(
        help_text="Whether the business asks for a second factor that you have yet to set up (/me/second-factor); "
        "until then the session can look after your own account, and nothing else."
    )


class RotatedSerializer(serializers.Serializer[Any]):
    """The session that you have, under a new token."""

    id = serializers.UUIDField()
    token = serializers.CharField(help_text="Shown this once; the one that you sent is refused from now on.")
    expires_at = serializers.DateTimeField(allow_null=True)


class SessionSerializer(serializers.Serializer[Any]):
    """One of your sessions."""

    id = serializers.UUIDField()
    created_at = serializers.DateTimeField()
    last_used_at = serializers.DateTimeField(help_text="To within ten minutes.")
    expires_at = serializers.DateTimeField(
        allow_null=True, help_text="Each use puts it off by 12 hours, until 14 days after the sign-in."
    )
    address = serializers.IPAddressField(allow_null=True, help_text="Where it was last used from.")
    current = serializers.BooleanField(help_text="Whether this request was made in it.")


class PersonSerializer(serializers.Serializer[Any]):
    """An account."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    email = serializers.EmailField()


class OwnBusinessSerializer(NamedSerializer):
    """The business that a caller works in."""

    time_zone = serializers.CharField()
    unit = serializers.ChoiceField(choices=Unit.choices)


class MeSerializer(serializers.Serializer[Any]):
    """Who is calling."""

    kind = serializers.ChoiceField(choices=CALLER_KINDS)
    business = OwnBusinessSerializer()
    person = PersonSerializer(allow_null=True)
    coach = serializers.UUIDField(allow_null=True, help_text="The caller's id under /coaches, for people.")
    client = serializers.UUIDField(allow_null=True, help_text="The caller's id under /clients, for clients.")
    role = serializers.ChoiceField(choices=Role.choices, allow_null=True)
    scopes = serializers.ListField(child=serializers.CharField())
    source = serializers.CharField(  # type: ignore[assignment]  # a field of that name, which the metaclass takes
        help_text="What a key's or a client's logs are filed under: they change no others; empty for the team."
    )
    client_ids = serializers.ListField(child=serializers.UUIDField(), allow_null=True)
    credential = serializers.UUIDField(help_text="The session's or key's id.")
    needs_second_factor = serializers.BooleanField(
        help_text="Whether the business asks for a second factor that is yet to be set up."
    )
    operations = serializers.ListField(child=serializers.CharField(), help_text="What the caller may call.")
