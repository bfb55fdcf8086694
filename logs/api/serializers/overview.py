"""The morning page, as it is read."""

from collections.abc import Mapping, Sequence
from typing import Any, Final, get_args

from rest_framework import serializers

from coaching.models.clients import ClientState
from logs.analysis.overview import (
    ATTENTION_ORDER,
    OverviewPolicy,
    Source,
    TodayState,
    UnknownReason,
    Verdict,
    counts_of,
)
from logs.api.serializers.flags import ACTIONS, KINDS, SEVERITIES
from logs.models.flags import FlagState
from logs.selectors.overview import OverviewRow

ATTENTIONS: Final = list(ATTENTION_ORDER)
TODAY_STATES: Final = list(get_args(TodayState))
VERDICTS: Final = list(get_args(Verdict))
UNKNOWN_REASONS: Final = list(get_args(UnknownReason))
SOURCES: Final = list(get_args(Source))

_INFORMS: Final = (
    "This page informs a coach from what was logged. It diagnoses nothing and clears nobody to train: `nothing_noted` "
    "only says that no rule found anything in it."
)
_NOT_WATCHED: Final = (
    "Nobody watches it in real time. In an emergency a person calls the local emergency number, not this service."
)
CAUTIONS: Final = (_INFORMS, _NOT_WATCHED)


class OverviewWeekSerializer(serializers.Serializer[Any]):
    """The sessions planned in the client's present week."""

    week_start = serializers.DateField(help_text="First day of the business's week in which the client is now.")
    sessions_planned = serializers.IntegerField(help_text="Excused and paused ones left out.")
    sessions_done = serializers.IntegerField()
    sessions_part_done = serializers.IntegerField()
    sessions_done_late = serializers.IntegerField()
    sessions_missed = serializers.IntegerField(help_text="Past their day and grace, and nothing logged.")
    sessions_excused = serializers.IntegerField(help_text="Excused or paused.")


class OverviewFlagSerializer(serializers.Serializer[Any]):
    """A flag that stands; `/flags/{id}` has the figures behind it."""

    id = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=KINDS)
    severity = serializers.ChoiceField(choices=SEVERITIES)
    action = serializers.ChoiceField(choices=ACTIONS, help_text="What is asked of the coach.")
    scope = serializers.CharField(help_text="What it is about: `all`, `exercise:<key>` or `region:<site>`.")
    state = serializers.ChoiceField(choices=FlagState.choices)
    sentence = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())
    opened_on = serializers.DateField(help_text="The client's local date.")


class ReadinessSerializer(serializers.Serializer[Any]):
    """What the standing flags make of the day; missing data never reads as `nothing_noted`."""

    verdict = serializers.ChoiceField(choices=VERDICTS)
    reason = serializers.ChoiceField(
        choices=UNKNOWN_REASONS, allow_null=True, help_text="Why the verdict is unknown; null when it is known."
    )
    sentence = serializers.CharField()
    scopes = serializers.ListField(
        child=serializers.CharField(),
        help_text="What a `stop` or `watch` is about: one of a region or exercise stops nothing else.",
    )
    not_measured = serializers.ListField(
        child=serializers.ChoiceField(choices=SOURCES),
        help_text=f"Not logged in the last {OverviewPolicy().measured_days} days, so the verdict does not rest on it.",
    )


class OverviewClientSerializer(serializers.Serializer[Any]):
    """Where one client stands this morning."""

    client = serializers.UUIDField()
    name = serializers.CharField()
    client_state = serializers.ChoiceField(choices=ClientState.choices)
    coach = serializers.UUIDField()
    coach_name = serializers.CharField()
    time_zone = serializers.CharField()
    local_date = serializers.DateField(help_text="The client's date now, in their time zone and by the business's day.")
    attention = serializers.ChoiceField(
        choices=ATTENTIONS, help_text="The most urgent reason to look; the page is in the order of these."
    )
    state_today = serializers.ChoiceField(choices=TODAY_STATES)
    last_contact_on = serializers.DateField(
        allow_null=True, help_text="Local date of the latest session log or check-in; null when there never was one."
    )
    last_contact_days = serializers.IntegerField(allow_null=True, help_text="How many days ago that is.")
    week = OverviewWeekSerializer()
    flags = OverviewFlagSerializer(many=True, help_text="Those that stand, oldest first.")
    readiness = ReadinessSerializer()
    written_until = serializers.DateField(
        allow_null=True, help_text="The last planned date; null when nothing was ever planned."
    )
    being_refreshed = serializers.BooleanField(help_text="Something has just changed; flags follow within seconds.")


class OverviewSummarySerializer(serializers.Serializer[Any]):
    """Counts over the whole list, not only this page; every word stands, also at 0."""

    clients = serializers.IntegerField()
    state_today = serializers.DictField(child=serializers.IntegerField())
    attention = serializers.DictField(child=serializers.IntegerField())
    readiness = serializers.DictField(child=serializers.IntegerField())


class OverviewSerializer(serializers.Serializer[Any]):
    """The morning page."""

    items = OverviewClientSerializer(many=True)
    next = serializers.URLField(allow_null=True)
    summary = OverviewSummarySerializer()
    cautions = serializers.ListField(child=serializers.CharField())


def show_overview(rows: Sequence[OverviewRow]) -> list[dict[str, Any]]:
    """Return clients as they stand on the page."""
    return [_show_row(row) for row in rows]


def show_summary(rows: Sequence[OverviewRow]) -> dict[str, Any]:
    """Return the counts over all clients of the list."""
    return {
        "clients": len(rows),
        "state_today": counts_of((row.state_today for row in rows), TODAY_STATES),
        "attention": counts_of((row.attention for row in rows), ATTENTIONS),
        "readiness": counts_of((row.readiness.verdict for row in rows), VERDICTS),
    }


def _show_row(row: OverviewRow) -> dict[str, Any]:
    return {
        "client": row.client_id,
        "name": row.name,
        "client_state": row.client_state,
        "coach": row.coach_id,
        "coach_name": row.coach_name,
        "time_zone": row.time_zone,
        "local_date": row.facts.today,
        "attention": row.attention,
        "state_today": row.state_today,
        "last_contact_on": row.facts.last_contact_on,
        "last_contact_days": row.facts.last_contact_days,
        "week": {"week_start": row.week_start, **row.week},
        "flags": [_show_flag(flag) for flag in row.flags],
        "readiness": {
            "verdict": row.readiness.verdict,
            "reason": row.readiness.reason,
            "sentence": row.readiness.sentence,
            "scopes": row.readiness.scopes,
            "not_measured": row.readiness.not_measured,
        },
        "written_until": row.facts.written_until,
        "being_refreshed": row.facts.being_refreshed,
    }


def _show_flag(flag: Mapping[str, Any]) -> dict[str, Any]:
    shown = {name: value for name, value in flag.items() if name not in ("client_id", "caution")}
    return {**shown, "cautions": [flag["caution"]] if flag["caution"] else []}
