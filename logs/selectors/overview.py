"""What the morning page is made from; the same number of statements whatever the number of clients."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final, cast
from uuid import UUID

from django.db.models import Exists, OuterRef, Q

from coaching.models import ClientState
from coaching.policy import Principal
from coaching.screening.care_groups import switched_off
from coaching.selectors.clients import list_clients
from logs.analysis.overview import (
    Attention,
    DueSession,
    MorningFacts,
    OverviewPolicy,
    Readiness,
    StandingFlag,
    TodayState,
    attention,
    overview_rank,
    readiness,
    state_today,
)
from logs.analysis.overview import Source as Measured
from logs.analysis.readiness import Action, FlagKind, Severity
from logs.models import Flag
from logs.selectors.flags import STANDING_STATES, shown_flags
from logs.selectors.overview_facts import overview_facts
from logs.selectors.readiness_facts import COACHED_STATES
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar

_SUSPENDED: Final = frozenset({ClientState.PAUSED, ClientState.ENDED})
_POLICY: Final = OverviewPolicy()

_MEASURED: Final[tuple[Measured, ...]] = (
    "session_log",
    "session_rpe",
    "wellness",
    "resting_heart_rate",
    "heart_rate_variability",
)
_HEART_RATE: Final[frozenset[Measured]] = frozenset({"resting_heart_rate", "heart_rate_variability"})


@dataclass(frozen=True, slots=True)
class OverviewRow:
    """A client on the morning page; `rank`, `sort_name` and `client_id` are its place."""

    client_id: UUID
    name: str
    sort_name: str
    coach_id: UUID
    coach_name: str
    client_state: str
    time_zone: str
    week_start: date
    week: Mapping[str, int]
    facts: MorningFacts
    flags: Sequence[Mapping[str, Any]]
    state_today: TodayState
    readiness: Readiness
    attention: Attention
    rank: int


@dataclass(frozen=True, slots=True)
class _Client:
    client_id: UUID
    name: str
    coach_id: UUID
    coach_name: str
    time_zone: str
    state: str
    care_groups: Sequence[str]


def list_overview(
    *, actor: Principal, coach_id: UUID | None = None, client_id: UUID | None = None, now: datetime
) -> list[OverviewRow]:
    """Return where each client stands whom the caller may see, in no order; those who ended only while a flag stands.

    Args:
        actor: who calls.
        coach_id: only this coach's clients.
        client_id: only this client.
        now: the present instant; each client's day and week follow from it in their own zone.

    Raises:
        UnknownObject: the coach filtered by is not one of the business.
    """
    clients = _clients(actor, coach_id, client_id)
    calendar = get_business_calendar()
    zones = {client.time_zone for client in clients}
    days = {zone: calendar.today(now, zone) for zone in zones}
    todays = {client.client_id: days[client.time_zone] for client in clients}
    known = overview_facts(todays=todays, calendar=calendar, policy=_POLICY, now=now)
    flags = _standing_flags(todays)
    return [
        _row(client, todays[client.client_id], calendar, known[client.client_id], flags.get(client.client_id, []))
        for client in clients
    ]


def _clients(actor: Principal, coach_id: UUID | None, client_id: UUID | None) -> list[_Client]:
    standing = Flag.objects.filter(client_id=OuterRef("id"), state__in=STANDING_STATES)
    rows = list_clients(actor=actor, coach_id=coach_id).filter(~Q(state=ClientState.ENDED) | Exists(standing))
    if client_id is not None:
        rows = rows.filter(id=client_id)
    columns = ("id", "name", "coach_id", "coach__person__name", "time_zone", "state", "care_groups")
    return [_Client(*row) for row in rows.values_list(*columns)]


def _standing_flags(client_ids: Collection[UUID]) -> dict[UUID, list[dict[str, Any]]]:
    rows = shown_flags().filter(client_id__in=list(client_ids), state__in=STANDING_STATES).order_by("opened_at", "id")
    columns = ("id", "client_id", "kind", "severity", "action", "scope", "state", "sentence", "caution", "opened_on")
    found: defaultdict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in rows.values(*columns):
        found[row["client_id"]].append(row)
    return found


def _row(
    client: _Client,
    today: date,
    calendar: BusinessCalendar,
    known: Mapping[str, Any],
    flags: Sequence[Mapping[str, Any]],
) -> OverviewRow:
    facts = _facts(client, today, known, flags)
    state, verdict = state_today(facts, _POLICY), readiness(facts, _POLICY)
    found = attention(facts, state, verdict.verdict, _POLICY)
    return OverviewRow(
        client_id=client.client_id,
        name=client.name,
        sort_name=client.name.casefold(),
        coach_id=client.coach_id,
        coach_name=client.coach_name,
        client_state=client.state,
        time_zone=client.time_zone,
        week_start=calendar.week_of(today),
        week={name: value for name, value in known.items() if name.startswith("sessions_")},
        facts=facts,
        flags=flags,
        state_today=state,
        readiness=verdict,
        attention=found,
        rank=overview_rank(found),
    )


def _unread(client: _Client) -> frozenset[Measured]:
    """Name what care keeps every rule from reading, so that no verdict rests on it."""
    return _HEART_RATE if switched_off("heart_rate", client.care_groups) else frozenset()


def _facts(client: _Client, today: date, known: Mapping[str, Any], flags: Sequence[Mapping[str, Any]]) -> MorningFacts:
    due = None
    if known["due_on"] is not None:
        due = DueSession(local_date=known["due_on"], since=known["due_since"], attended=known["due_attended"])
    return MorningFacts(
        today=today,
        coached=client.state in COACHED_STATES,
        suspended=client.state in _SUSPENDED,
        away=known["away"] or client.state == ClientState.PAUSED,
        open_today=known["open_today"],
        last_due=due,
        last_session_on=known["last_session_on"],
        last_check_in_on=known["last_check_in_on"],
        sessions_missed=known["missed_while_here"],
        written_until=known["written_until"],
        evaluated_on=known["evaluated_on"],
        being_refreshed=known["being_refreshed"],
        measured=frozenset(name for name in _MEASURED if known[name]) - _unread(client),
        flags=tuple(
            StandingFlag(
                kind=cast("FlagKind", flag["kind"]),
                severity=cast("Severity", flag["severity"]),
                action=cast("Action", flag["action"]),
                scope=flag["scope"],
            )
            for flag in flags
        ),
    )
