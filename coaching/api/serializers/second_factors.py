"""The second factor of one's own account."""

from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer

MAX_CODE_CHARACTERS = 40


class SecondFactorSerializer(serializers.Serializer[Any]):
    """Whether you have a second factor."""

    stands = serializers.BooleanField(help_text="Whether signing in asks for a code.")
    since = serializers.DateTimeField(allow_null=True)
    recovery_codes_left = serializers.IntegerField()
    required = serializers.BooleanField(  # type: ignore[assignment]  # a field of that name, which the metaclass takes
        help_text="Whether this business asks it of your role."
    )


class SecondFactorStartSerializer(StrictSerializer):
    """Your password, once more."""

    password = serializers.CharField(max_length=128, trim_whitespace=False)


class SecondFactorEnrolmentSerializer(serializers.Serializer[Any]):
    """A secret for your authenticator app."""

    secret = serializers.CharField(help_text="Base32, to be typed in; shown this once.")
    uri = serializers.CharField(help_text="The same as an otpauth address, to be drawn as a QR code.")


class SecondFactorConfirmationSerializer(StrictSerializer):
    """The first code that the app shows."""

    code = serializers.CharField(max_length=MAX_CODE_CHARACTERS)


class SecondFactorProofSerializer(StrictSerializer):
    """Your password, and a code."""

    password = serializers.CharField(max_length=128, trim_whitespace=False)
    code = serializers.CharField(max_length=MAX_CODE_CHARACTERS, help_text="Of your app, or a recovery code.")


class RecoveryCodesSerializer(serializers.Serializer[Any]):
    """Codes to keep on paper: each signs you in once without the app."""

    recovery_codes = serializers.ListField(child=serializers.CharField(), help_text="Shown this once.")
