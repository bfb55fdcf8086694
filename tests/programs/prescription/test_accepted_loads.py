from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from programs.prescription.accepted_loads import (
    AcceptedLoad,
    asked_of,
    encode_accepted_load,
    read_accepted_load,
    with_accepted_loads,
)
from programs.prescription.prescribed_loads import AbsoluteLoad
from programs.prescription.structure import Block, Session, SetGroup, Slot

WORK = SetGroup(count=3, reps_low=6, reps_high=8, rpe=Decimal(8), load=AbsoluteLoad(value=Decimal(80)))
SLOT = Slot(slot_key="A1", exercise="back-squat", sets=(SetGroup(kind="warm_up", reps_low=5), WORK))
ACCEPTED = AcceptedLoad(
    exercise="back-squat",
    load=AbsoluteLoad(value=Decimal("82.5")),
    groups=(1,),
    asked=asked_of(SLOT),
    advice="Up to 82.5 kg.",
    advised_on=date(2031, 3, 4),
    accepted_at=datetime(2031, 3, 4, 12, tzinfo=UTC),
    accepted_by="somebody",
)


def session(slot: Slot = SLOT) -> Session:
    return Session(blocks=(Block(slots=(slot,)),))


def lost(slot: Slot) -> str:
    changed, placed, without = with_accepted_loads(session(slot), {"A1": ACCEPTED})
    assert (changed, placed) == (session(slot), {})
    return without["A1"]


def test_an_accepted_load_takes_the_place_of_the_written_one_in_its_sets_alone() -> None:
    changed, placed, without = with_accepted_loads(session(), {"A1": ACCEPTED})
    (slot,) = changed.slots
    assert [group.load for group in slot.sets] == [None, AbsoluteLoad(value=Decimal("82.5"))]
    assert (placed, without) == ({"A1": ACCEPTED}, {})


def test_more_sets_another_rest_and_other_notes_change_no_load() -> None:
    other = replace(SLOT, rest_s=60, notes="Slowly.", sets=(SLOT.sets[0], replace(WORK, count=5)))
    assert with_accepted_loads(session(other), {"A1": ACCEPTED})[2] == {}


def test_another_exercise_other_repetitions_or_no_slot_leave_it_out_and_say_so() -> None:
    assert "it was for back-squat, and the slot has front-squat now" in lost(replace(SLOT, exercise="front-squat"))
    for other in (replace(WORK, reps_high=10), replace(WORK, rpe=Decimal(9)), replace(WORK, load=None)):
        assert "the slot asks for something else now" in lost(replace(SLOT, sets=(SLOT.sets[0], other)))
    assert "has no such slot any more" in lost(replace(SLOT, slot_key="A2"))


def test_it_is_kept_and_read_back_equal_in_either_unit() -> None:
    pounds = replace(ACCEPTED, load=AbsoluteLoad(value=Decimal(185), unit="lb"))
    for one in (ACCEPTED, pounds):
        assert read_accepted_load(encode_accepted_load(one)) == one


def test_fewer_and_easier_sets_are_accepted_with_a_load_and_never_more_or_harder_ones() -> None:
    sets = (
        SetGroup(kind="warm_up", count=2, reps_low=5),
        WORK,
        SetGroup(count=1, reps_low=8, in_reserve=Decimal(4)),
        SetGroup(kind="to_limit", reps_low=5, to_limit=True),
        SetGroup(count=1, reps_low=8, rpe=Decimal(6)),
    )
    slot = replace(SLOT, sets=sets)
    eased = replace(ACCEPTED, asked=asked_of(slot), counts=(1, 2, 3, 1, 1), rpe_most=Decimal(7))
    assert read_accepted_load(encode_accepted_load(eased)) == eased
    (found,) = with_accepted_loads(session(slot), {"A1": eased})[0].slots
    assert [(one.kind, one.count, one.rpe, one.in_reserve, one.to_limit) for one in found.sets] == [
        ("warm_up", 2, None, None, False),
        ("work", 2, Decimal(7), None, False),
        ("work", 1, None, Decimal(4), False),
        ("work", 1, Decimal(7), None, False),
        ("work", 1, Decimal(6), None, False),
    ]
