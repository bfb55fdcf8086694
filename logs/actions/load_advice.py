"""Accept load advice: what was advised, or a coach's own load, is written into the sessions."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Final
from uuid import UUID

from coaching.models import StaleWeek
from coaching.policy import Principal
from logs.actions.flags import evaluate_flags
from logs.actions.load_acceptances import AcceptanceResult, AdviceAcceptance, acceptance_cautions, refusal
from logs.analysis.load_advice_targets import present_load
from logs.selectors.load_advice import (
    SessionAdvice,
    SlotAdvice,
    list_session_advice,
    next_sessions,
    sessions_to_advise,
)
from programs.actions.accepted_loads import WantedLoad, accept_loads
from programs.actions.calendar_rows import lock_clients
from programs.prescription.prescribed_loads import AbsoluteLoad
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS

_ALONE: Final = "A load after a gap, on the way back, or held for pain is written into this session alone."


def accept_load_advice(*, actor: Principal, items: Sequence[AdviceAcceptance], now: datetime) -> list[AcceptanceResult]:
    """Accept advice for many slots, in a constant number of statements; what can't be accepted is told why.

    Advice that no longer rests on what it rested on when it was read is refused, with what changed: a newer or
    corrected log, another prescription, a hold, a gap. While an exercise is held for pain no more than the load last
    lifted is taken. After a gap the fewer sets and the lower RPE are written with the load.

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
    earliest = next_sessions(actor=actor).filter(client_id__in=named.values("client_id"))
    known = {found.row["id"]: found for found in list_session_advice(sessions=named, now=now)}
    judging = _Judging(known, set(earliest.values_list("id", flat=True)))
    judged = list(judging.results(items))
    wanted = [
        (place, judging.wanted(result.advice, result.item))
        for place, result in enumerate(judged)
        if result.outcome == "accepted" and result.advice is not None
    ]
    written = accept_loads(actor=actor, wanted=[one for _, one in wanted], now=now) if wanted else []
    for (place, _), result in zip(wanted, written, strict=True):
        before = judged[place]
        judged[place] = replace(
            before,
            outcome=result.outcome,
            code=result.code,
            detail=result.detail or before.detail,
            sessions=result.sessions,
            cautions=before.cautions if result.outcome == "accepted" else (),
            sets=before.sets if result.outcome == "accepted" else None,
            rpe_most=before.rpe_most if result.outcome == "accepted" else None,
        )
    return judged


@dataclass(frozen=True, slots=True)
class _Judging:
    """What is advised now, by session, and which sessions are their clients' next."""

    known: Mapping[UUID, SessionAdvice]
    next_ids: Collection[UUID]

    def results(self, items: Sequence[AdviceAcceptance]) -> Iterator[AcceptanceResult]:
        """Judge each item: what is accepted is still to be written."""
        seen: set[tuple[UUID, str]] = set()
        for item in items:
            slot = (item.planned_session_id, item.slot_key)
            if slot in seen:
                said = "The slot is named before in this call already: send one load for it."
                yield AcceptanceResult(item, "refused", "named_twice", said)
                continue
            seen.add(slot)
            yield self._judged(item)

    def _judged(self, item: AdviceAcceptance) -> AcceptanceResult:
        session = self.known.get(item.planned_session_id)
        if session is None:
            sentence = "There is no planned session with this id that you may see."
            return AcceptanceResult(item, "refused", "unknown_object", sentence)
        found = next((one for one in session.slots if one.facts.slot_key == item.slot_key), None)
        if found is None:
            there = ", ".join(one.facts.slot_key for one in session.slots)
            return AcceptanceResult(item, "refused", "unknown_slot", f"The session has the slots {there}.")
        is_next = item.planned_session_id in self.next_ids
        code, sentence = refusal(item, found, session, is_next=is_next)
        if code:
            return AcceptanceResult(item, "refused", code, sentence, advice=found, returns=session.returns)
        if self._has_it_already(item, found, session):
            return AcceptanceResult(item, "unchanged", advice=found, returns=session.returns)
        gap = session.returns if self._gap(item) and found.facts.target is not None else None
        return AcceptanceResult(
            item,
            "accepted",
            detail=_ALONE if item.apply_to == "rest_of_program" and self._alone(found, item) else "",
            advice=found,
            cautions=tuple(acceptance_cautions(item, found, session, is_next=is_next)),
            sets=None if gap is None or found.facts.target is None else gap.sets_left(found.facts.target.sets),
            rpe_most=None if gap is None else gap.rpe_most,
            returns=session.returns,
        )

    def _has_it_already(self, item: AdviceAcceptance, found: SlotAdvice, session: SessionAdvice) -> bool:
        """Say whether nothing is to be written: a percentage, above all, is not to be frozen at what it is today."""
        target = found.facts.target
        if target is None or item.load is not None or self._gap(item):
            return False
        if item.apply_to == "rest_of_program" and target.kind != "percent" and not self._alone(found, item):
            return False
        return present_load(found.slot, target, session.unit) == found.advice.load

    def _gap(self, item: AdviceAcceptance) -> bool:
        """Say whether fewer and easier sets are to be written with the load."""
        if not item.sets_and_rpe or item.planned_session_id not in self.next_ids:
            return False
        return self.known[item.planned_session_id].returns.rpe_most is not None

    def _alone(self, found: SlotAdvice, item: AdviceAcceptance) -> bool:
        return found.advice.method in ("return_rule", "pain_hold") or self._gap(item)

    def wanted(self, found: SlotAdvice, item: AdviceAcceptance) -> WantedLoad:
        """Return what is to be written for an accepted item."""
        session = self.known[item.planned_session_id]
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
            apply_to="session" if self._alone(found, item) else item.apply_to,
            counts=_counts(found, session) if self._gap(item) else (),
            rpe_most=session.returns.rpe_most if self._gap(item) else None,
        )


def _counts(found: SlotAdvice, session: SessionAdvice) -> tuple[int, ...]:
    """Give how many sets of each group are left after a gap; of warm-ups all."""
    groups = found.slot["sets"]
    before = found.slot.get("accepted_load", {}).get("sets_before") or groups
    return tuple(
        planned["count"] if group.get("kind", "work") in UNCOUNTED_SET_KINDS
        else session.returns.sets_left(planned["count"])
        for group, planned in zip(groups, before, strict=True)
    )  # fmt: skip
