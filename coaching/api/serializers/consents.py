"""Consents and their words, as they are written down and shown."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from coaching.models.consents import ConsentGivenHow, ConsentKind, ConsentText
from coaching.policy import Principal, member_shown

MAX_TEXT_CHARACTERS: Final = 20_000


class ConsentTextInSerializer(StrictSerializer):
    """Words to agree to."""

    kind = serializers.ChoiceField(choices=ConsentKind.choices)
    text = serializers.CharField(
        max_length=MAX_TEXT_CHARACTERS,
        help_text="The exact words, the business's own; the law where it works decides what they must say.",
    )


class ConsentTextSerializer(serializers.Serializer[Any]):
    """Words to agree to: a version, which never changes."""

    id = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=ConsentKind.choices)
    version = serializers.IntegerField()
    text = serializers.CharField()
    text_sha256 = serializers.CharField(help_text="Of the text in UTF-8, in hex.")
    created_by = serializers.UUIDField(allow_null=True, help_text="Null for clients.")
    created_at = serializers.DateTimeField()


def show_consent_text(row: ConsentText) -> dict[str, Any]:
    """Return words as they are shown."""
    names = ("id", "kind", "version", "text", "text_sha256", "created_by", "created_at")
    return {name: getattr(row, name) for name in names}


def shown_consent_texts(rows: Iterable[Mapping[str, Any]], actor: Principal) -> list[dict[str, Any]]:
    """Return versions of words as they are shown to somebody."""
    return [{**row, "created_by": member_shown(actor, row["created_by"])} for row in rows]


class ConsentInSerializer(StrictSerializer):
    """A client's yes."""

    text = serializers.UUIDField(help_text="The version of the words that they agree to.")
    given_on = serializers.DateField(required=False, help_text="Today where it is left out.")
    given_how = serializers.ChoiceField(
        choices=ConsentGivenHow.choices,
        required=False,
        help_text="A coach says `on_paper` or `spoken`; a client in their account leaves it out.",
    )


class ConsentWithdrawalSerializer(StrictSerializer):
    """A client's taking back."""

    withdrawn_on = serializers.DateField(required=False, help_text="Today where it is left out.")
    withdrawn_how = serializers.ChoiceField(
        choices=ConsentGivenHow.choices,
        required=False,
        help_text="A coach says `on_paper` or `spoken`; a client in their account leaves it out.",
    )


class ConsentSerializer(serializers.Serializer[Any]):
    """What a client agreed to. A missing consent stops nothing here: what must stop, local law and the coach say."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    text = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=ConsentKind.choices)
    version = serializers.IntegerField()
    newest_version = serializers.IntegerField(help_text="Of the words of this kind: another is not agreed to yet.")
    text_sha256 = serializers.CharField()
    standing = serializers.BooleanField(help_text="Not taken back.")
    given_on = serializers.DateField()
    given_how = serializers.ChoiceField(choices=ConsentGivenHow.choices)
    recorded_by = serializers.UUIDField(
        allow_null=True, help_text="The membership that wrote it down; to clients null where it is not their own."
    )
    recorded_at = serializers.DateTimeField()
    withdrawn_on = serializers.DateField(allow_null=True)
    withdrawn_how = serializers.CharField(help_text="As `given_how`; empty while it stands.")
    withdrawn_by = serializers.UUIDField(allow_null=True, help_text="As `recorded_by`.")
    withdrawn_at = serializers.DateTimeField(allow_null=True)


def shown_consents(rows: Iterable[Mapping[str, Any]], actor: Principal) -> list[dict[str, Any]]:
    """Return consents as they are shown to somebody."""
    names = ("recorded_by", "withdrawn_by")
    return [{**row, **{name: member_shown(actor, row[name]) for name in names}} for row in rows]
