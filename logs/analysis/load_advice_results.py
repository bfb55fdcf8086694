"""Load advice as it is given: what to do, with which load, why, and from what."""

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, Literal

from logs.analysis.load_advice_facts import AdvisedSlot, LoadAdvicePolicy, SlotTarget
from logs.analysis.load_advice_outcomes import LiftOutcome
from logs.analysis.load_advice_returns import ReturnRule
from logs.analysis.load_advice_words import load_words, outcome_words
from logs.analysis.references import PRACTICE

Action = Literal["up", "same", "down", "hold", "start", "ask"]
Method = Literal[
    "double_progression", "effort_target", "percent_target", "estimate", "return_rule", "pain_hold", "as_prescribed"
]
Reason = Literal[
    "training_stopped",
    "movement_stopped",
    "held_for_pain",
    "not_by_load",
    "deload",
    "start_as_new",
    "nothing_comparable",
    "not_lifted_lately",
    "after_gap",
    "back_after_gap",
    "top_of_range",
    "big_step_reached",
    "step_too_big",
    "not_often_enough",
    "in_range",
    "one_miss",
    "misses_running",
    "two_short",
    "nothing_lighter",
    "incomplete",
    "effort_above",
    "effort_unknown",
    "load_unknown",
    "bodyweight_unknown",
    "planned_step",
    "effort_on_target",
    "effort_easier",
    "effort_harder",
    "from_estimate",
    "no_estimate",
    "needs_reference",
    "percent_of_reference",
    "percent_too_light",
    "percent_too_heavy",
]

ACTIONS: Final[tuple[Action, ...]] = ("up", "same", "down", "hold", "start", "ask")
"""What advice says to do. Practice."""


_ASK_FOR_MORE: Final[frozenset[Reason]] = frozenset(
    {"in_range", "not_often_enough", "step_too_big", "incomplete", "effort_unknown", "bodyweight_unknown"}
)
"""Reasons whose sentences ask for more repetitions or sets, or speak of the next load. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadAdvice:
    """Advice for a slot.

    Attributes:
        action: `up`, `same`, `down`, `hold` (no increase for now), `start` (find the load anew) or `ask` (something is
            missing).
        reason: the rule that spoke.
        sentence: the advice in plain words.
        load: the load in the client's unit and the exercise's basis; None where it is found by effort or not at all.
        last: the load last lifted, where the advice follows from one.
        method: how it was found.
        source: where the rule comes from.
        inputs: the exposures used, newest first.
        missing: what would be needed to say more: `effort`, `load`, `bodyweight`, `reference`.
        repetitions_first: repetitions to reach at the present load before a big step.
        suggestion: what the coach may do beside.
    """

    action: Action
    reason: Reason
    sentence: str
    load: Decimal | None = None
    last: Decimal | None = None
    method: Method = "double_progression"
    source: str = PRACTICE
    inputs: tuple[LiftOutcome, ...] = ()
    missing: tuple[str, ...] = ()
    repetitions_first: int | None = None
    suggestion: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceGround:
    """What a rule stands on: the slot, what may be compared with it, and the gap before it.

    ``outcomes`` are the comparable ones with a load, newest first; ``same_asked`` those of them of the same range;
    ``unloaded`` is the newest comparable one where that has no load.
    """

    slot: AdvisedSlot
    target: SlotTarget
    returns: ReturnRule
    policy: LoadAdvicePolicy
    outcomes: tuple[LiftOutcome, ...] = ()
    same_asked: tuple[LiftOutcome, ...] = ()
    unloaded: LiftOutcome | None = None

    @property
    def last(self) -> LiftOutcome | None:
        """The outcome that the load follows from: the newest of the same range, else the newest."""
        return next(iter(self.same_asked), next(iter(self.outcomes), None))


def _no_more(load: Decimal | None, kept: Decimal | None) -> bool:
    """Say whether a load is none at all, or none over what was lifted."""
    return load is None or (kept is not None and load <= kept)


def without_rise(advice: LoadAdvice, ground: AdviceGround, kept: Decimal | None, detail: str) -> LoadAdvice:
    """Take any increase out of advice, while the exercise is held for pain.

    Args:
        advice: what the rules say.
        ground: what it stands on.
        kept: the load last lifted, as it can be loaded; None where there was none.
        detail: the hold in words.

    Returns:
        The advice as it is where it is no increase; else to hold the load last lifted, or none where that is unknown.
    """
    last = None if ground.last is None else ground.last.load
    if advice.action != "up" and advice.reason not in _ASK_FOR_MORE and _no_more(advice.load, kept):
        action: Action = "hold" if advice.reason == "not_by_load" else advice.action
        return replace(advice, action=action, sentence=f"{advice.sentence} {detail}.", last=last)
    said = "No load is advised."
    if kept is not None and ground.last is not None:
        said = f"Stay at {load_words(ground.slot, kept)}, with no more sets or repetitions than last time: "
        said += f"{outcome_words(ground.slot, ground.last)}."
    return replace(
        advice,
        action="hold",
        reason="held_for_pain",
        load=kept,
        last=last,
        method="pain_hold",
        sentence=f"{detail}. {said}",
        inputs=advice.inputs or ground.outcomes[:1],
        repetitions_first=None,
    )
