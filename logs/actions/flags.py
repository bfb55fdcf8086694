"""Flags: opened, updated and closed by what the rules say; acknowledged and resolved by people."""

import logging
from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from django.db.models import F

from coaching.policy import Principal, client_rows
from coaching.refusals import Conflict
from coaching.tenancy.scope import business_scope
from logs.actions.flag_rows import FlagMove, claim_evaluations, store_moves
from logs.actions.movement_holds import push_holds
from logs.analysis.client_rules import ClientSituation, client_rule_states
from logs.analysis.readiness import DAILY_KINDS, transitions
from logs.models import Flag, FlagEvaluation, FlagState
from logs.selectors.daily_rule_facts import clients_asked_today
from logs.selectors.flags import (
    STANDING_STATES,
    LatestFlag,
    get_flag,
    list_clients_to_evaluate,
    list_latest_flags,
)
from logs.selectors.readiness_facts import client_days, client_situations
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar

logger = logging.getLogger(__name__)

# The daily rules read weeks of sets: so many clients take about two seconds, and no other business waits longer.
CLIENTS_A_PIECE: Final = 100


class FlagNotStanding(Conflict):
    """The flag was resolved or has closed itself."""

    code = "flag_not_standing"


def flags_of_the_day(business_id: UUID, now: datetime) -> bool:
    """Ask the rules about each client whose local day has begun since they were last asked: time alone moves some.

    Args:
        business_id: the business, in no scope yet.
        now: the present instant.

    Returns:
        Whether more clients may be due.
    """
    with business_scope(business_id):
        due = list_clients_to_evaluate(now=now, limit=CLIENTS_A_PIECE)
        if not due:
            return False
        taken = claim_evaluations(days=due, again=False)
        own = {client_id: day for client_id, day in due.items() if client_id in taken}
        _evaluate(own, get_business_calendar(), now, daily=own)
    return len(due) == CLIENTS_A_PIECE


def evaluate_flags(*, client_ids: Collection[UUID], now: datetime, calendar: BusinessCalendar | None = None) -> None:
    """Ask the rules about clients and let their flags follow.

    The daily rules are asked of those alone of whom nothing was asked yet today.

    Args:
        client_ids: whose facts have changed.
        now: the present instant.
        calendar: the business's, where the caller has read it.
    """
    known = calendar or get_business_calendar()
    days = client_days(client_ids=client_ids, calendar=known, now=now)
    if days:
        asked = clients_asked_today(days=days)
        claim_evaluations(days=days, again=True)
        _evaluate(days, known, now, daily=days.keys() - asked)


def acknowledge_flag(*, actor: Principal, flag_id: UUID, now: datetime) -> Flag:
    """Note that a person has seen a flag; of one noted before, nothing changes.

    Raises:
        NotFound: there is no such flag that the caller may see.
        FlagNotStanding: it was resolved, or has closed itself.
    """
    changes = {"state": FlagState.ACKNOWLEDGED, "acknowledged_at": now, "acknowledged_by_id": actor.membership_id}
    return _settle(actor, flag_id, (FlagState.OPEN,), now, changes)


def resolve_flag(*, actor: Principal, flag_id: UUID, resolution: str = "", now: datetime) -> Flag:
    """Close a flag by a person's word, and release what it holds; it opens anew only on other evidence.

    Raises:
        NotFound: there is no such flag that the caller may see.
        FlagNotStanding: it was resolved before, or has closed itself.
    """
    changes = {
        "state": FlagState.RESOLVED,
        "resolved_at": now,
        "resolved_by_id": actor.membership_id,
        "resolution": resolution,
        "closed_at": now,
    }
    client_id = get_flag(actor=actor, flag_id=flag_id).client_id
    # An evaluation that still saw the flag standing must not hold again what is released here.
    FlagEvaluation.objects.select_for_update().filter(client_id=client_id).first()
    flag = _settle(actor, flag_id, STANDING_STATES, now, changes)
    push_holds(client_ids=[client_id], now=now)
    return flag


def _settle(
    actor: Principal, flag_id: UUID, states: Collection[str], now: datetime, changes: Mapping[str, Any]
) -> Flag:
    rows = Flag.objects.filter(client_rows(actor), id=flag_id, state__in=states)
    changed = rows.update(updated_at=now, row_version=F("row_version") + 1, **changes)
    flag = get_flag(actor=actor, flag_id=flag_id)
    if not changed and flag.state not in STANDING_STATES:
        raise FlagNotStanding(f"This flag is {flag.state}; only an open or acknowledged one can be moved.")
    return flag


def _evaluate(days: Mapping[UUID, date], calendar: BusinessCalendar, now: datetime, *, daily: Collection[UUID]) -> None:
    situations = client_situations(days=days, calendar=calendar, now=now, daily=daily)
    latest: defaultdict[UUID, list[LatestFlag]] = defaultdict(list)
    for flag in list_latest_flags(client_ids=list(days)):
        # Of a rule that is not asked now, the flag stays as it is.
        if flag.client_id in daily or flag.record.kind not in DAILY_KINDS:
            latest[flag.client_id].append(flag)
    moves = [
        move for client_id, situation in situations.items() for move in _moves(client_id, situation, latest[client_id])
    ]
    store_moves(moves=moves, days=days, now=now)
    push_holds(client_ids=list(days), now=now)


def _moves(client_id: UUID, situation: ClientSituation, flags: Collection[LatestFlag]) -> list[FlagMove]:
    by_scope = {(flag.record.kind, flag.record.scope): flag for flag in flags}
    try:
        found = transitions([flag.record for flag in flags], client_rule_states(situation))
    except Exception:
        # One client's unreadable facts must not keep the flags of all others from opening.
        logger.exception("the rules failed for client %s", client_id)
        return []
    return [FlagMove(client_id, one, by_scope.get((one.kind, one.scope))) for one in found]
