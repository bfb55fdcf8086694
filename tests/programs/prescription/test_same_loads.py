"""Loads that are another slot's, from what is planned there and from what was lifted there."""

from decimal import Decimal

import pytest

from programs.prescription.back_offs import LiftedSet, with_back_offs
from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    PercentLoad,
    RelativeToTopLoad,
    SameAsLoad,
)
from programs.prescription.snapshot import session_snapshot
from programs.prescription.structure import Block, Session, SetGroup, Slot
from tests.programs.prescription.cast import EXERCISES


def kg(text):
    return AbsoluteLoad(value=Decimal(text))


SAME = (SameAsLoad(slot_key="A1"),)


def lines(first, *, second="bench-press", loads=SAME, lifted=(), unit="kg", steps=None):
    """Write out A1 with the given sets and then A2, A3 … with one set of each load; return what the later say."""
    groups = tuple(first)
    slots = [Slot(slot_key="A1", exercise="back-squat", sets=groups)]
    for number, load in enumerate(loads, start=2):
        slots.append(Slot(slot_key=f"A{number}", exercise=second, sets=(SetGroup(reps_low=8, load=load),)))
    session = Session(blocks=tuple(Block(label="A", slots=(slot,)) for slot in slots))
    document = session_snapshot(session, EXERCISES, {}, unit=unit, steps=steps).prescribed
    document = with_back_offs(document, lifted, EXERCISES, unit=unit, steps=steps)
    found = [block["slots"][0]["sets"][0] for block in document["blocks"][1:]]
    return [(line["load_status"], line["load_kg"], line["resolved_from"]) for line in found]


def lifted(load, *, number=1, kind="work", slot="A1", exercise="back-squat"):
    return LiftedSet(slot_key=slot, exercise=exercise, set_number=number, kind=kind, load=kg(load))


UNKNOWN = ("on_the_day", None, "The load used in A1.")


def test_of_several_planned_sets_the_heaviest_that_is_no_warm_up_counts():
    first = [
        SetGroup(kind="warm_up", reps_low=5, load=kg("120")),
        SetGroup(reps_low=5, load=kg("80")),
        SetGroup(reps_low=5, load=kg("75")),
    ]
    assert lines(first) == [("resolved", "80", "Same as A1, planned at 80 kg.")]


@pytest.mark.parametrize(
    "first",
    [
        [SetGroup(reps_low=5, rpe=Decimal(8))],
        [SetGroup(reps_low=5, load=kg("80")), SetGroup(reps_low=5)],
        [SetGroup(kind="top", reps_low=3), SetGroup(reps_low=5, load=RelativeToTopLoad(pct=Decimal(-10)))],
        [SetGroup(reps_low=5, load=PercentLoad(of="tested", pct=Decimal(75)))],
        [SetGroup(kind="ramp", reps_low=3, load=kg("80"))],
    ],
)
def test_a_load_that_is_not_known_of_every_set_stays_unknown(first):
    assert lines(first) == [UNKNOWN]


def test_bodyweight_and_bands_are_the_same_without_a_figure():
    assert lines([SetGroup(reps_low=5, load=BodyweightLoad())]) == [
        ("bodyweight", None, "Same as A1. Bodyweight, nothing added.")
    ]
    assert lines([SetGroup(reps_low=5, load=BandLoad(text="red"))])[0][::2] == ("band", "Same as A1. Band: red.")


def test_one_may_be_the_same_as_one_that_is_the_same_as_a_third():
    loads = (SameAsLoad(slot_key="A1"), SameAsLoad(slot_key="A2"))
    assert lines([SetGroup(reps_low=5)], loads=loads, lifted=[lifted("80")]) == [
        ("resolved", "80", "Same as A1, logged at 80 kg."),
        ("resolved", "80", "Same as A2, planned at 80 kg."),
    ]


def test_a_load_said_for_each_hand_is_none_said_in_all():
    assert EXERCISES["split-squat"].load_basis == "each_hand"
    assert lines([SetGroup(reps_low=5, load=kg("80"))], second="split-squat") == [UNKNOWN]


def test_what_the_other_exercise_can_not_carry_is_rounded_down():
    first = [SetGroup(reps_low=5, load=kg("81"))]
    assert lines(first)[0] == ("resolved", "80", "Same as A1, planned at 81 kg. Rounded down to 80 kg.")


def test_the_heaviest_lifted_counts_and_a_ramp_only_until_there_is_another():
    first = [SetGroup(kind="ramp", reps_low=3), SetGroup(count=2, reps_low=5)]
    ramp = lifted("100", kind="ramp")
    assert lines(first, lifted=[ramp])[0][1] == "100"
    assert lines(first, lifted=[ramp, lifted("85", number=2), lifted("90", number=3)])[0][1] == "90"
    # An app that says no kind sends work: the plan knows that the first set is a ramp.
    assert lines(first, lifted=[lifted("100"), lifted("85", number=2)])[0][1] == "85"


@pytest.mark.parametrize(
    "other", [lifted("80", kind="warm_up"), lifted("80", slot="A2"), lifted("80", exercise="bench-press")]
)
def test_a_warm_up_or_a_set_of_another_slot_or_exercise_counts_for_nothing(other):
    assert lines([SetGroup(reps_low=5)], lifted=[other]) == [UNKNOWN]
