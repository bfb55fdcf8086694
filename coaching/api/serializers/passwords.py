"""Passwords, as they are set and changed."""

from rest_framework import serializers

from coaching.actions.signed_links import MAX_TOKEN_CHARACTERS
from coaching.http.unknown_fields import StrictSerializer

_RULES = "12 characters at least; not a common one, nor like your own name or address."


class PasswordResetSerializer(StrictSerializer):
    """Whose password is to be set."""

    email = serializers.EmailField(max_length=254)


class PasswordResetConfirmationSerializer(StrictSerializer):
    """A new password, by a link."""

    token = serializers.CharField(max_length=MAX_TOKEN_CHARACTERS, help_text="The last part of the link's address.")
    password = serializers.CharField(max_length=128, trim_whitespace=False, help_text=_RULES)


class PasswordChangeSerializer(StrictSerializer):
    """Another password."""

    current = serializers.CharField(max_length=128, trim_whitespace=False)
    new = serializers.CharField(max_length=128, trim_whitespace=False, help_text=_RULES)


class PasswordResetRequestedSerializer(serializers.Serializer[object]):
    """The same for every address."""

    detail = serializers.CharField()
