"""Rows of flags, written for many clients at once."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

import orjson
from django.db import connection

from coaching.actions.audit_trail import record_by_service
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id
from logs.analysis.readiness import CLOSED_BY_PERSON, Transition, evidence_text
from logs.models import FlagState
from logs.selectors.flags import LatestFlag

_CLAIM: Final = """
INSERT INTO logs_flagevaluation AS e (id, business_id, client_id, local_date)
SELECT id, %s, client_id, local_date FROM unnest(%s::uuid[], %s::uuid[], %s::date[]) AS t (id, client_id, local_date)
ORDER BY client_id
ON CONFLICT (business_id, client_id) DO UPDATE SET local_date = greatest(e.local_date, excluded.local_date)
WHERE %s OR e.local_date < excluded.local_date
RETURNING client_id
"""
_COLUMNS: Final = {
    "severity": "text",
    "action": "text",
    "sentence": "text",
    "figures": "jsonb",
    "rule": "text",
    "source": "text",
    "caution": "text",
    "evidence": "text",
}
_NAMES: Final = ", ".join(_COLUMNS)
_ARRAYS: Final = ", ".join(f"%s::{kind}[]" for kind in _COLUMNS.values())

# Two evaluations of one client never cross; should a flag stand all the same, it is left as it is.
_OPEN: Final = f"""
INSERT INTO logs_flag (id, business_id, client_id, kind, scope, opened_on, state, opened_at, updated_at, resolution,
  row_version, {_NAMES})
SELECT id, %s, client_id, kind, scope, opened_on, 'open', %s, %s, '', 1, {_NAMES}
FROM unnest(%s::uuid[], %s::uuid[], %s::text[], %s::text[], %s::date[], {_ARRAYS})
  AS v (id, client_id, kind, scope, opened_on, {_NAMES})
ON CONFLICT (business_id, client_id, kind, scope) WHERE state IN ('open', 'acknowledged') DO NOTHING
RETURNING id, kind
"""
_MOVE: Final = f"""
UPDATE logs_flag f SET state = coalesce(v.state, f.state), updated_at = %s, row_version = f.row_version + 1,
  closed_at = CASE WHEN v.state = 'closed' THEN %s ELSE f.closed_at END,
  {", ".join(f"{name} = coalesce(v.{name}, f.{name})" for name in _COLUMNS)}
FROM unnest(%s::uuid[], %s::text[], {_ARRAYS}) AS v (id, state, {_NAMES})
WHERE f.business_id = %s AND f.id = v.id AND f.state IN ('open', 'acknowledged')
  AND (coalesce(v.state, f.state), {", ".join(f"coalesce(v.{name}, f.{name})" for name in _COLUMNS)})
    IS DISTINCT FROM (f.state, {", ".join(f"f.{name}" for name in _COLUMNS)})
RETURNING f.id, f.kind, f.state
"""


@dataclass(frozen=True, slots=True)
class FlagMove:
    """A transition of a client's flag; `flag` is the one that it moves or follows."""

    client_id: UUID
    transition: Transition
    flag: LatestFlag | None


def claim_evaluations(*, days: Mapping[UUID, date], again: bool) -> set[UUID]:
    """Take clients' evaluations until the transaction ends: what another one is at is waited for, then read anew.

    Args:
        days: each client's local date of today.
        again: also those whose rules were asked today.

    Returns:
        The clients taken.
    """
    parameters: list[Any] = [current_business_id(), [new_id() for _ in days], list(days), list(days.values()), again]
    with connection.cursor() as cursor:
        cursor.execute(_CLAIM, parameters)
        return {client_id for (client_id,) in cursor.fetchall()}


def store_moves(*, moves: Collection[FlagMove], days: Mapping[UUID, date], now: datetime) -> None:
    """Open, update and close flags, and write down which; one that a person has resolved meanwhile is left alone."""
    opened = _open([move for move in moves if move.transition.step == "open"], days, now)
    closed = _move([move for move in moves if move.transition.step != "open"], now)
    done = [
        *(("flags.opened", flag_id, {"kind": kind}) for flag_id, kind in opened),
        *(("flags.cleared", flag_id, {"kind": kind}) for flag_id, kind in closed),
    ]
    if done:
        record_by_service(done=done, now=now)


def _open(moves: Collection[FlagMove], days: Mapping[UUID, date], now: datetime) -> list[tuple[UUID, str]]:
    if not moves:
        return []
    parameters: list[Any] = [
        current_business_id(),
        now,
        now,
        [new_id() for _ in moves],
        [move.client_id for move in moves],
        [move.transition.kind for move in moves],
        [move.transition.scope for move in moves],
        [days[move.client_id] for move in moves],
        *_columns(moves),
    ]
    with connection.cursor() as cursor:
        cursor.execute(_OPEN, parameters)
        return [(flag_id, kind) for flag_id, kind in cursor.fetchall()]


def _move(moves: Collection[FlagMove], now: datetime) -> list[tuple[UUID, str]]:
    standing = [(move, move.flag) for move in moves if move.flag is not None]
    if not standing:
        return []
    parameters: list[Any] = [
        now,
        now,
        [flag.flag_id for _, flag in standing],
        [_new_state(move, flag) for move, flag in standing],
        *_columns([move for move, _ in standing]),
        current_business_id(),
    ]
    with connection.cursor() as cursor:
        cursor.execute(_MOVE, parameters)
        return [(flag_id, kind) for flag_id, kind, state in cursor.fetchall() if state == FlagState.CLOSED]


def _new_state(move: FlagMove, flag: LatestFlag) -> str | None:
    if move.transition.step == "close":
        return FlagState.CLOSED
    # Who acknowledged a symptom or a pain has not seen the one reported since.
    unseen = set(move.transition.evidence) - set(flag.record.evidence)
    return FlagState.OPEN if unseen and move.transition.kind in CLOSED_BY_PERSON else None


def _columns(moves: Collection[FlagMove]) -> list[list[str | None]]:
    """Return the new values by column; none where the flag closes, which keeps what it last said."""
    rows = [_values(move.transition) for move in moves]
    return [list(column) for column in zip(*rows, strict=True)]


def _values(transition: Transition) -> tuple[str | None, ...]:
    state = transition.state
    if state is None or transition.step == "close":
        return (None,) * len(_COLUMNS)
    return (
        state.severity,
        state.action,
        state.sentence,
        orjson.dumps(dict(state.figures)).decode(),
        state.rule,
        state.source,
        state.caution,
        evidence_text(transition.evidence),
    )
