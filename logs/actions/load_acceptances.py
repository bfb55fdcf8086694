"""What is accepted of load advice, what became of it, and why something can't be accepted."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal
from uuid import UUID

from coaching.measures.load import Load, kg_to_lb
from logs.analysis.load_advice_basis import changed_since
from logs.analysis.load_advice_facts import LoadAdvicePolicy
from logs.analysis.load_advice_returns import ReturnRule
from logs.analysis.load_advice_words import load_words
from logs.selectors.load_advice import SessionAdvice, SlotAdvice
from programs.actions.accepted_loads import ApplyTo
from programs.prescription.constants import ASSISTANCE_MAX_KG, LOAD_MAX_KG

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
        sets_and_rpe: whether the fewer sets and the lower RPE of a gap are written too.
    """

    planned_session_id: UUID
    slot_key: str
    load: Load | None = None
    basis: str = ""
    apply_to: ApplyTo = "session"
    sets_and_rpe: bool = True


@dataclass(frozen=True, slots=True)
class AcceptanceResult:
    """What became of an item; `advice` is what is advised now, None where the session or slot is unknown.

    `sets` and `rpe_most` are the leading sets and the highest RPE written with the load, None where they stay.
    """

    item: AdviceAcceptance
    outcome: Literal["accepted", "unchanged", "refused"]
    code: str = ""
    detail: str = ""
    sessions: int = 0
    advice: SlotAdvice | None = None
    cautions: tuple[str, ...] = ()
    sets: int | None = None
    rpe_most: Decimal | None = None
    returns: ReturnRule | None = None


def refusal(item: AdviceAcceptance, found: SlotAdvice, session: SessionAdvice, *, is_next: bool) -> tuple[str, str]:
    """Say why an item can't be accepted: a code and a sentence, both empty where it can."""
    changed = changed_since(item.basis, found.basis) if item.basis else ()
    held = next((hold for hold in found.facts.holds if hold.code in _STOPPED), None)
    if changed:
        return (
            "advice_outdated",
            f"Since the advice was read, {' and '.join(changed)}. Now: {found.advice.sentence} Read it again.",
        )
    if held is not None:
        return "held_for_pain", held.detail
    if found.facts.deload:
        return "deload", "A deload is done as it is prescribed; change the session itself if it is to be otherwise."
    if item.load is None and not is_next:
        said = f"Load advice is made for a client's next session, and the one of {session.row['local_date']} is not it"
        return "not_next", f"{said}: accept it there for the rest of the program, or give a load of your own."
    if found.facts.target is None or (item.load is None and found.advice.load is None):
        said = f"No load is advised, so nothing is written, sets and RPE neither: {found.advice.sentence}"
        return "nothing_advised", said
    return _own_load_refusal(item, found)


def _own_load_refusal(item: AdviceAcceptance, found: SlotAdvice) -> tuple[str, str]:
    if item.load is None:
        return "", ""
    if item.load.kg < 0 and found.facts.exercise.load_basis != "added":
        return "below_nothing", f"{found.facts.exercise.name} can't be done with less than nothing: give a load from 0."
    if not -ASSISTANCE_MAX_KG <= item.load.kg <= LOAD_MAX_KG:
        return "over_the_most", f"No plan has a load over {LOAD_MAX_KG} kg or help over {ASSISTANCE_MAX_KG} kg."
    held = next(iter(found.facts.holds), None)
    last = found.advice.last
    if held is None or (last is not None and _own(item, found) <= last):
        return "", ""
    return "held_for_pain", f"{held.detail} A load over the one last lifted is not taken."


def acceptance_cautions(
    item: AdviceAcceptance, found: SlotAdvice, session: SessionAdvice, *, is_next: bool
) -> Iterator[str]:
    """Say what is to be minded about a coach's own load; it is written all the same."""
    if item.load is None:
        return
    own, advised, facts = _own(item, found), found.advice.load, found.facts
    known = found.advice.last if found.advice.last is not None else advised
    said = load_words(facts, own)
    if known is not None and _far_over(own, known, facts.grid.base):
        what = "last lifted" if found.advice.last is not None else "advised"
        yield f"{said} is more than a tenth over the {load_words(facts, known)} {what}: see that it is meant."
    if is_next and session.returns.kind != "none" and (advised is None or own > advised):
        yield f"{said} is over what is advised after a gap. {session.returns.sentence}"


def _own(item: AdviceAcceptance, found: SlotAdvice) -> Decimal:
    if item.load is None:
        return Decimal(0)
    unit = found.facts.grid.unit
    return item.load.value if item.load.unit == unit else item.load.kg if unit == "kg" else kg_to_lb(item.load.kg)


def _far_over(own: Decimal, known: Decimal, base: Decimal | None) -> bool:
    moved = known + (base or 0)
    return Fraction(own - known) > Fraction(max(moved, Decimal(0))) * Fraction(LoadAdvicePolicy().most_rise)
