"""A client's readiness day by day, as it is read."""

from typing import Any, Final

from rest_framework import serializers

from logs.api.serializers.flags import ACTIONS, KINDS, SEVERITIES
from logs.api.serializers.overview import SOURCES, UNKNOWN_REASONS, VERDICTS
from logs.models.flags import FlagState
from logs.selectors.readiness import ClientReadiness, ReadinessDay

_CAUTIONS: Final = (
    "A verdict is made of what was logged. It diagnoses nothing and clears nobody to train.",
    "`nothing_noted` only says that no rule found anything.",
    "Days before today are as they are known now: a log that came late counts on the day it is of.",
    "Nobody watches this in real time. In an emergency a person calls the local emergency number, not this service.",
)


class ReadinessFlagSerializer(serializers.Serializer[Any]):
    """A flag that stood on the day: the evidence for its verdict."""

    id = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=KINDS)
    severity = serializers.ChoiceField(choices=SEVERITIES)
    action = serializers.ChoiceField(choices=ACTIONS)
    scope = serializers.CharField(help_text="`all`, `exercise:<key>` or `region:<site>`.")
    state = serializers.ChoiceField(choices=FlagState.choices, help_text="Its state now.")
    sentence = serializers.CharField()
    figures = serializers.DictField()
    rule = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which the metaclass takes
    cautions = serializers.ListField(child=serializers.CharField())
    opened_on = serializers.DateField()


class ReadinessDaySerializer(serializers.Serializer[Any]):
    """One local day's verdict."""

    local_date = serializers.DateField()
    verdict = serializers.ChoiceField(choices=VERDICTS)
    reason = serializers.ChoiceField(choices=UNKNOWN_REASONS, allow_null=True, help_text="Why it is unknown.")
    sentence = serializers.CharField()
    scopes = serializers.ListField(child=serializers.CharField(), help_text="What a `stop` or `watch` is about.")
    not_measured = serializers.ListField(
        child=serializers.ChoiceField(choices=SOURCES), help_text="Not logged in the seven days up to it."
    )
    flags = ReadinessFlagSerializer(many=True)


class ClientReadinessSerializer(serializers.Serializer[Any]):
    """A client's verdicts, today first."""

    client = serializers.UUIDField()
    today = serializers.DateField()
    days = ReadinessDaySerializer(many=True)
    heart_rate_off = serializers.CharField(help_text="Why heart rate is no part of it; empty where it may be.")
    cautions = serializers.ListField(child=serializers.CharField())


def show_readiness(found: ClientReadiness) -> dict[str, Any]:
    """Return a client's verdicts as they are read."""
    return {
        "client": found.client_id,
        "today": found.today,
        "days": [_day(day) for day in found.days],
        "heart_rate_off": found.heart_rate_off,
        "cautions": list(_CAUTIONS),
    }


def _day(day: ReadinessDay) -> dict[str, Any]:
    verdict = day.readiness
    return {
        "local_date": day.local_date,
        "verdict": verdict.verdict,
        "reason": verdict.reason,
        "sentence": verdict.sentence,
        "scopes": verdict.scopes,
        "not_measured": verdict.not_measured,
        "flags": [_flag(flag) for flag in day.flags],
    }


def _flag(flag: dict[str, Any]) -> dict[str, Any]:
    shown = {name: value for name, value in flag.items() if name != "caution"}
    return {**shown, "cautions": [flag["caution"]] if flag["caution"] else []}
