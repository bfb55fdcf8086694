"""Results of conditioning over weeks: block by block, and piece by piece on machines and on foot."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from uuid import UUID

from coaching.policy import Principal
from coaching.selectors.clients import get_client
from logs.analysis.conditioning_blocks import AskedBlock, Effort, asked_blocks
from logs.analysis.conditioning_results import BlockResult, ResultComparison, block_result, compare_results
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.rowing_results import PieceComparison, PieceSession, compare_pieces, piece_session
from logs.models import SessionLog, SetLog
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS
from programs.selectors.business_calendar import get_business_calendar

_ROWING_STATION: Final = "rowing_machine"
_PIECE_PATTERNS: Final = frozenset({"steady_conditioning", "locomotion"})


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockHistory:
    """A block's results, oldest first."""

    block: AskedBlock
    title: str
    results: tuple[BlockResult, ...]
    comparison: ResultComparison


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceHistory:
    """An exercise's pieces by session, oldest first."""

    exercise: str
    name: str
    sessions: tuple[PieceSession, ...]
    comparison: PieceComparison


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditioningHistory:
    """A client's conditioning."""

    client_id: UUID
    since: date
    blocks: list[BlockHistory]
    exercises: list[PieceHistory]


def get_conditioning(*, actor: Principal, client_id: UUID, weeks: int, now: datetime) -> ConditioningHistory:
    """Return a client's conditioning results of the last weeks, the present one among them.

    Raises:
        NotFound: there is no such client that the caller may see.
    """
    client = get_client(actor=actor, client_id=client_id)
    calendar = get_business_calendar()
    this_week = calendar.week_of(calendar.today(now, client["time_zone"]))
    since = this_week - timedelta(days=DAYS_PER_WEEK * (weeks - 1))
    sessions = _sessions(client_id, since, this_week + timedelta(days=DAYS_PER_WEEK - 1))
    sets = _sets(sessions)
    return ConditioningHistory(
        client_id=client_id, since=since, blocks=_blocks(sessions, sets), exercises=_pieces(sessions, sets)
    )


Rows = dict[UUID, list[dict[str, Any]]]


def _sessions(client_id: UUID, first: date, last: date) -> dict[UUID, dict[str, Any]]:
    rows = SessionLog.objects.filter(
        client_id=client_id, local_date__range=(first, last), deleted_at__isnull=True
    ).order_by("local_date", "id")
    columns = (
        "id",
        "local_date",
        "planned_session_id",
        "planned_session__title",
        "planned_session__template_key",
        "planned_session__deload",
        "planned_session__prescribed",
    )
    return {row["id"]: row for row in rows.values(*columns)}


def _sets(sessions: Iterable[UUID]) -> Rows:
    rows = (
        SetLog.objects.filter(session_log_id__in=list(sessions), deleted_at__isnull=True)
        .exclude(outcome="skipped")
        .exclude(kind__in=UNCOUNTED_SET_KINDS)
        .order_by("slot_key", "set_number", "id")
        .values(
            "session_log_id",
            "slot_key",
            "set_number",
            "reps",
            "rounds",
            "duration_s",
            "distance_m",
            "calories_kcal",
            "exercise__key",
            "exercise__name",
            "exercise__pattern",
            "exercise__station",
        )
    )
    by_session: Rows = {}
    for row in rows:
        by_session.setdefault(row["session_log_id"], []).append(dict(row))
    return by_session


def _blocks(sessions: dict[UUID, dict[str, Any]], sets: Rows) -> list[BlockHistory]:
    found: dict[AskedBlock, list[BlockResult]] = {}
    titles: dict[AskedBlock, str] = {}
    for performed in _by_planned(sessions).values():
        first = sessions[performed[0]]
        efforts = [_effort(row) for session_id in performed for row in sets.get(session_id, ())]
        prescribed = first["planned_session__prescribed"] | {"template_key": first["planned_session__template_key"]}
        for block in asked_blocks(prescribed):
            result = block_result(block, efforts, first["local_date"], deload=first["planned_session__deload"])
            if result is not None:
                found.setdefault(block, []).append(result)
                titles[block] = first["planned_session__title"]
    return [
        BlockHistory(
            block=block, title=titles[block], results=tuple(results), comparison=compare_results(block, results)
        )
        for block, results in found.items()
    ]


def _by_planned(sessions: dict[UUID, dict[str, Any]]) -> dict[UUID, list[UUID]]:
    by_planned: dict[UUID, list[UUID]] = {}
    for session_id, row in sessions.items():
        if row["planned_session_id"] is not None:
            by_planned.setdefault(row["planned_session_id"], []).append(session_id)
    return by_planned


def _pieces(sessions: dict[UUID, dict[str, Any]], sets: Rows) -> list[PieceHistory]:
    found: dict[str, list[PieceSession]] = {}
    names: dict[str, str] = {}
    for session_id, session in sessions.items():
        by_exercise: dict[str, list[dict[str, Any]]] = {}
        for row in sets.get(session_id, ()):
            if row["exercise__pattern"] in _PIECE_PATTERNS and (row["distance_m"] or row["calories_kcal"]):
                by_exercise.setdefault(row["exercise__key"], []).append(row)
        for key, rows in by_exercise.items():
            names[key] = rows[0]["exercise__name"]
            piece = piece_session(
                [_effort(row) for row in rows],
                session["local_date"],
                rowing=rows[0]["exercise__station"] == _ROWING_STATION,
                deload=bool(session["planned_session__deload"]),
            )
            found.setdefault(key, []).append(piece)
    return [
        PieceHistory(exercise=key, name=names[key], sessions=tuple(pieces), comparison=compare_pieces(pieces))
        for key, pieces in sorted(found.items())
    ]


def _effort(row: dict[str, Any]) -> Effort:
    return Effort(
        exercise=row["exercise__key"],
        set_number=row["set_number"],
        slot_key=row["slot_key"],
        reps=row["reps"],
        rounds=row["rounds"],
        duration_s=row["duration_s"],
        distance_m=row["distance_m"],
        calories_kcal=row["calories_kcal"],
    )
