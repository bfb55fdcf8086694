"""Fields that several apps' bodies hold."""

import re
from enum import StrEnum
from typing import Any, Final

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coaching.measures.local_calendar import UnknownZoneError, zone

_WORD: Final = re.compile(r"[a-z0-9]+(?:[-_][a-z0-9]+)*")
DAYS: Final = 7
_LABEL: Final = r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
ORIGIN: Final = re.compile(rf"https://(?=.{{1,253}}(?::|\Z)){_LABEL}(?:\.{_LABEL})*(?::(?!443\Z)[1-9]\d{{0,4}})?")
"""An origin as browsers write it: the port of https itself is left out."""


def choices_of(words: type[StrEnum]) -> list[tuple[str, str]]:
    """Return a vocabulary as a field's choices, in the form by which the schema finds its name."""
    return [(word.value, word.name) for word in words]


class TimeZoneField(serializers.CharField):
    """An IANA time zone, by name."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=64, help_text="IANA name, such as Europe/Paris.", **options)

    def run_validation(self, data: Any = serializers.empty) -> Any:
        """Check that the zone exists; a near name is suggested."""
        name = super().run_validation(data)
        if not isinstance(name, str):
            return name
        try:
            zone(name)
        except UnknownZoneError as error:
            raise serializers.ValidationError(str(error), code=error.code) from None
        return name


@extend_schema_field({"type": "string", "pattern": r"^\d{2}:\d{2}(:\d{2}(\.\d{1,6})?)?$"})
class LocalTimeField(serializers.TimeField):
    """A wall-clock time such as `04:00`; JSON Schema's own format `time` would ask for an offset."""


class OriginField(serializers.CharField):
    """The exact origin of a web page, such as `https://app.gym.example`."""

    default_error_messages = {
        "origin": "An origin is https://, a host in lower case and, unless it is 443, a port: https://app.gym.example.",
    }

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=272, **options)

    def to_internal_value(self, data: Any) -> str:
        """Check its form; a browser sends it in exactly this one."""
        origin: str = super().to_internal_value(data)
        if not ORIGIN.fullmatch(origin):
            self.fail("origin")
        return origin


class WordField(serializers.CharField):
    """A word of a vocabulary, such as `back-squat` or `trap_bar`."""

    default_error_messages = {
        "word": "Words are lower-case letters and digits, joined by - or _; {word!r} is not one.",
    }

    def to_internal_value(self, data: Any) -> str:
        """Check its form."""
        word: str = super().to_internal_value(data)
        if not _WORD.fullmatch(word):
            self.fail("word", word=word[:60])
        return word


class WeekdaysField(serializers.ListField):
    """Weekdays, 0 Monday to 6 Sunday, each once; read in order."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            child=serializers.IntegerField(min_value=0, max_value=DAYS - 1),
            max_length=DAYS,
            help_text="0 is Monday, 6 is Sunday.",
            **options,
        )

    def to_internal_value(self, data: Any) -> list[int]:
        """Check that none stands twice."""
        weekdays: list[int] = super().to_internal_value(data)
        if len(set(weekdays)) != len(weekdays):
            raise serializers.ValidationError("Name each weekday once.", code="duplicate")
        return sorted(weekdays)
