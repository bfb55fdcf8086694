"""Whatever was done: the advised load can be loaded, rises by a tenth at most, and never while something is held."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from logs.analysis.load_advice import load_advice
from logs.analysis.load_advice_facts import AdvisedSlot, Exposure, LoadAdvicePolicy, LoadGrid
from logs.analysis.load_advice_outcomes import comparable_outcomes
from logs.analysis.load_advice_returns import return_rule
from logs.analysis.load_advice_steps import step_of
from tests.logs.analysis.load_advice_slots import BELL, DIP, NO_INCREASE, SQUAT, STACK, done, slot, target

POLICY = LoadAdvicePolicy()
EXERCISES = st.sampled_from([SQUAT, BELL, DIP, STACK])
LOADS = st.integers(8, 120).map(lambda steps: Decimal(steps) * Decimal("2.5"))
KINDS = st.sampled_from(["absolute", "by_effort"])


@st.composite
def targets(draw: st.DrawFn) -> Any:
    low = draw(st.integers(3, 8))
    kind = draw(KINDS)
    return target(
        reps_low=low,
        reps_high=low + draw(st.integers(0, 4)),
        reserve=draw(st.sampled_from([None, Decimal(0), Decimal(2)])),
        kind=kind,
        written="80" if kind == "absolute" else "",
        resolved=Decimal(80) if kind == "absolute" else None,
    )


@st.composite
def exposures(draw: st.DrawFn, asked: Any, place: str) -> Exposure:
    reps = draw(st.lists(st.integers(0, 14), min_size=1, max_size=4))
    return done(
        draw(st.integers(1, 60)),
        *reps,
        load=draw(LOADS),
        reserve=draw(st.sampled_from([None, Decimal(0), Decimal(1), Decimal(2), Decimal(4)])),
        asked=asked,
        place=place,
    )


@st.composite
def slots(draw: st.DrawFn, **fields: Any) -> AdvisedSlot:
    asked = draw(targets())
    place = draw(st.sampled_from(["", "hotel"]))
    done_before = draw(st.lists(exposures(asked, place), max_size=5))
    made = slot(
        *done_before,
        exercise=draw(EXERCISES),
        target=asked,
        place=place,
        novice=draw(st.booleans()),
        grid=LoadGrid(step=draw(st.sampled_from([None, Decimal(2), Decimal("2.5"), Decimal(5)])), base=Decimal(70)),
    )
    base = made.grid.base if made.exercise.load_basis == "added" else Decimal(0)
    return replace(made, grid=replace(made.grid, base=base), **fields)


def returned(own: AdvisedSlot) -> Any:
    return return_rule([one.local_date for one in own.exposures], own.day)


def lifted(own: AdvisedSlot) -> list[Any]:
    return [one for one in comparable_outcomes(own, POLICY, returned(own).fresh_since) if one.load is not None]


@settings(max_examples=150, deadline=None)
@given(own=slots())
def test_an_advised_load_can_be_loaded_or_was_loaded_there_before(own: AdvisedSlot) -> None:
    advice = load_advice(own, returned(own))
    if advice.load is None or advice.method == "as_prescribed":
        return
    step = step_of(own)
    assert step is not None
    assert advice.load % step == 0 or advice.load in {one.load for one in lifted(own)}


@settings(max_examples=150, deadline=None)
@given(own=slots())
def test_a_load_rises_by_a_tenth_at_most_unless_a_big_step_was_waited_for(own: AdvisedSlot) -> None:
    advice = load_advice(own, returned(own))
    if advice.load is None or advice.last is None or advice.reason in ("big_step_reached", "nothing_comparable"):
        return
    moved = advice.last + (own.grid.base or 0)
    assert Fraction(advice.load - advice.last) <= Fraction(moved) / 10


@settings(max_examples=150, deadline=None)
@given(own=slots(holds=(NO_INCREASE,)))
def test_nothing_rises_under_a_hold(own: AdvisedSlot) -> None:
    advice = load_advice(own, returned(own))
    assert advice.action != "up"
    before = lifted(own)
    if advice.load is not None:
        assert before
        assert advice.load <= max(one.load for one in before)


@settings(max_examples=150, deadline=None)
@given(asked=targets(), reps=st.lists(st.integers(0, 12), min_size=3, max_size=3), more=st.integers(1, 3), load=LOADS)
def test_more_repetitions_never_lower_the_advice(asked: Any, reps: list[int], more: int, load: Decimal) -> None:
    def advised(count: list[int]) -> Decimal:
        two = [done(days, *count, load=load, reserve=2, asked=asked) for days in (3, 7)]
        found = load_advice(slot(*two, target=asked), returned(slot(*two)))
        assert found.load is not None
        return found.load

    assert advised([one + more for one in reps]) >= advised(reps)


@settings(max_examples=150, deadline=None)
@given(
    asked=targets(), reps=st.lists(st.integers(0, 12), min_size=3, max_size=3), load=LOADS, heavier=st.integers(1, 20)
)
def test_a_heavier_load_last_time_never_lowers_the_advice(
    asked: Any, reps: list[int], load: Decimal, heavier: int
) -> None:
    def advised(weight: Decimal) -> Decimal:
        two = [done(days, *reps, load=weight, reserve=2, asked=asked) for days in (3, 7)]
        found = load_advice(slot(*two, target=asked), returned(slot(*two)))
        assert found.load is not None
        return found.load

    assert advised(load + Decimal("2.5") * heavier) >= advised(load)
