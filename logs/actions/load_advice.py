"""Accept load advice: what was advised, or a coach's own load, is written into the sessions."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final, Literal
from uuid import UUID

from coaching.measures.load import Load
from coaching.models import StaleWeek
from coaching.policy import Principal
from logs.actions.flags import evaluate_flags
from logs.analysis.load_advice_basis import changed_since
from logs.analysis.load_advice_targets import present_load
from logs.selectors.load_advice import SessionAdvice, SlotAdvice, list_session_advice, sessions_to_advise
from programs.actions.accepted_loads import ApplyTo, WantedLoad, accept_loads
from programs.actions.calendar_rows import lock_clients
from programs.prescription.structure import AbsoluteLoad

_STOPPED: Final = frozenset({"training_held", "movement_held"})


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceAcceptance:
    """Advice that is accepted.

    Attributes:
        planned_session_id: the session.
        slot_key: the slot.
        load: the coach's own load instead of the one advised; None takes that.
        basis: what the advice rested on when it was read; empty accepts it as it is now.
        apply_to: this session alone, or also the assignment's sessions to come whose slot asks for the same.
    """

    planned_session_id: UUID
    slot_key: str
    load: Load | None = None
    basis: str = ""
    apply_to: ApplyTo = "session"


@dataclass(frozen=True, slots=True)
class AcceptanceResult:
    """What became of an item; `advice` is what is advised now, None where the session or slot is unknown."""

    item: AdviceAcceptance
    outcome: Literal["accepted", "unchanged", "refused"]
    code: str = ""
    detail: str = ""
    sessions: int = 0
    advice: SlotAdvice | None = None


def accept_load_advice(*, actor: Principal, items: Sequence[AdviceAcceptance], now: datetime) -> list[AcceptanceResult]:
    """Accept advice for many slots, in a constant number of statements; what can't be accepted is told why.

    Advice that no longer rests on what it rested on when it was read is refused, with what changed: a newer or
    corrected log, another prescription, a hold, a gap. While an exercise is held for pain no more than the load last
    lifted is taken.

    Args:
        actor: a coach.
        items: what is accepted; the results come in its order.
        now: when.
    """
    ids = list({item.planned_session_id for item in items})
    named = sessions_to_advise(actor=actor, planned_session_ids=ids)
    # Whoever writes logs locks their clients first, so no newer log can come between reading and writing.
    lock_clients(named.values("client_id"))
    # A pain that was logged a moment ago must hold already.
    stale = StaleWeek.objects.filter(client_id__in=named.values("client_id"))
    evaluate_flags(client_ids=set(stale.values_list("client_id", flat=True)), now=now)
    known = {found.row["id"]: found for found in list_session_advice(sessions=named, now=now)}
    judged = [_judged(item, known) for item in items]
    wanted = [
        (place, _wanted(result.advice, result.item, known[result.item.planned_session_id]))
        for place, result in enumerate(judged)
        if result.outcome == "accepted" and result.advice is not None
    ]
    written = accept_loads(actor=actor, wanted=[one for _, one in wanted], now=now) if wanted else []
    for (place, _), result in zip(wanted, written, strict=True):
        before = judged[place]
        judged[place] = AcceptanceResult(
            before.item, result.outcome, result.code, result.detail, result.sessions, before.advice
        )
    return judged


def _judged(item: AdviceAcceptance, known: Mapping[UUID, SessionAdvice]) -> AcceptanceResult:
    session = known.get(item.planned_session_id)
    if session is None:
        sentence = "There is no planned session with this id that you may see."
        return AcceptanceResult(item, "refused", "unknown_object", sentence)
    found = next((one for one in session.slots if one.facts.slot_key == item.slot_key), None)
    if found is None:
        there = ", ".join(one.facts.slot_key for one in session.slots)
        return AcceptanceResult(item, "refused", "unknown_slot", f"The session has the slots {there}.")
    code, sentence = _refusal(item, found)
    if not code and _has_it_already(item, found, session):
        return AcceptanceResult(item, "unchanged", advice=found)
    return AcceptanceResult(item, "refused" if code else "accepted", code, sentence, advice=found)


def _has_it_already(item: AdviceAcceptance, found: SlotAdvice, session: SessionAdvice) -> bool:
    """Say whether nothing is to be written: a percentage, above all, is not to be frozen at what it comes to today."""
    target = found.facts.target
    if target is None or item.load is not None:
        return False
    if item.apply_to == "rest_of_program" and target.kind != "percent":
        return False
    return present_load(found.slot, target, session.unit) == found.advice.load


def _refusal(item: AdviceAcceptance, found: SlotAdvice) -> tuple[str, str]:
    changed = changed_since(item.basis, found.basis) if item.basis else ()
    if changed:
        return (
            "advice_outdated",
            f"Since the advice was read, {' and '.join(changed)}. Now: {found.advice.sentence} Read it again.",
        )
    held = next((hold for hold in found.facts.holds if hold.code in _STOPPED), None)
    if held is not None:
        return "held_for_pain", held.detail
    if found.facts.deload:
        return "deload", "A deload is done as it is prescribed; change the session itself if it is to be otherwise."
    if found.facts.target is None or (item.load is None and found.advice.load is None):
        return "nothing_advised", f"No load is advised: {found.advice.sentence}"
    return _pain_refusal(item, found)


def _pain_refusal(item: AdviceAcceptance, found: SlotAdvice) -> tuple[str, str]:
    held = next(iter(found.facts.holds), None)
    if held is None or item.load is None:
        return "", ""
    last = found.advice.last
    unit = found.facts.grid.unit
    if last is not None and item.load.kg <= AbsoluteLoad(value=last, unit=unit).load_kg:
        return "", ""
    return "held_for_pain", f"{held.detail} A load over the one last lifted is not taken."


def _wanted(found: SlotAdvice, item: AdviceAcceptance, session: SessionAdvice) -> WantedLoad:
    target, advised = found.facts.target, found.advice.load
    if item.load is None:
        load, advice = AbsoluteLoad(value=advised or Decimal(0), unit=session.unit), found.advice.sentence
    else:
        load = AbsoluteLoad(value=item.load.value, unit=item.load.unit)
        advice = f"The coach's own load. Advised was: {found.advice.sentence}"
    return WantedLoad(
        planned_session_id=item.planned_session_id,
        slot_key=item.slot_key,
        exercise=found.facts.exercise.key,
        groups=() if target is None else target.groups,
        load=load,
        advice=advice,
        advised_on=session.today,
        apply_to=item.apply_to,
    )
