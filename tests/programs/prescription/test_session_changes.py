"""Changes laid over a session."""

from decimal import Decimal

from programs.prescription.prescribed_loads import AbsoluteLoad, PercentLoad
from programs.prescription.progression_rules import Deload
from programs.prescription.session_changes import SessionChanges, changed_session, swapped_changes
from programs.prescription.session_changes_document import encode_changes, read_changes
from programs.prescription.slot_changes import with_slot
from programs.prescription.structure import Block, ExerciseFacts, Session, SetGroup, Slot

EXERCISES = {
    key: ExerciseFacts(key=key, name=key, pattern="squat", loading="barbell")
    for key in ("back-squat", "front-squat", "box-squat")
}
LIGHTER = Deload(every_weeks=2, sets_pct=Decimal(50), load_pct=Decimal(-10))


def session(*blocks: Block) -> Session:
    work = SetGroup(count=4, reps_low=5, load=AbsoluteLoad(value=Decimal(80)))
    return Session(
        template_key="lower-a",
        blocks=blocks or (Block(slots=(Slot(slot_key="A1", exercise="back-squat", sets=(work,)),)),),
    )


def test_no_change_leaves_the_session_as_it_is() -> None:
    assert encode_changes(SessionChanges()) is None
    assert changed_session(session(), read_changes(None), EXERCISES).session == session()


def test_changes_read_back_as_they_were_kept() -> None:
    changes = SessionChanges(
        swaps={"back-squat": "front-squat"}, slots={"A1": {"rest_s": 60, "notes": "Slow."}}, deload=LIGHTER
    )
    assert read_changes(encode_changes(changes)) == changes
    assert changes.exercises == {"front-squat"}


def test_swaps_come_first_then_slots_then_the_deload() -> None:
    changes = SessionChanges(
        swaps={"back-squat": "front-squat"},
        slots={"A1": {"sets": [{"count": 6, "reps_low": 3, "load": {"kind": "absolute", "load_kg": 70}}]}},
        deload=LIGHTER,
    )
    (slot,) = changed_session(session(), changes, EXERCISES).session.slots
    assert (slot.exercise, slot.sets[0].count, slot.sets[0].load) == (
        "front-squat",
        3,
        AbsoluteLoad(value=Decimal("62.5")),
    )


def test_a_change_of_a_slot_that_is_gone_is_told_and_left_out() -> None:
    found = changed_session(session(), SessionChanges(slots={"B1": {"rest_s": 60}}), EXERCISES)
    assert found.session == session()
    assert found.without_place == {"B1": "The session has the slots A1, and no B1."}


def test_a_change_that_does_not_fit_a_round_block_is_told_and_left_out() -> None:
    one = SetGroup(reps_low=5)
    circuit = session(
        Block(
            kind="max_rounds",
            minutes=10,
            slots=(
                Slot(slot_key="A1", exercise="back-squat", sets=(one,)),
                Slot(slot_key="A2", exercise="front-squat", sets=(one,)),
            ),
        )
    )
    found = changed_session(circuit, SessionChanges(slots={"A1": {"sets": [{"count": 3, "reps_low": 5}]}}), EXERCISES)
    assert found.session == circuit
    assert set(found.without_place) == {"A1"}


def test_a_deload_leaves_the_one_set_that_rounds_repeat() -> None:
    sets = (SetGroup(reps_low=5, load=AbsoluteLoad(value=Decimal(80))),)
    rounds = session(
        Block(kind="rounds_for_time", rounds=4, slots=(Slot(slot_key="A1", exercise="back-squat", sets=sets),))
    )
    (slot,) = changed_session(rounds, SessionChanges(deload=LIGHTER), EXERCISES).session.slots
    assert (slot.sets[0].count, slot.sets[0].load) == (1, AbsoluteLoad(value=Decimal(70)))


def test_a_percentage_that_would_leave_its_range_keeps_the_load_in_a_deload() -> None:
    sets = (SetGroup(count=4, reps_low=5, load=PercentLoad(of="tested", pct=Decimal(5))),)
    light = session(Block(slots=(Slot(slot_key="A1", exercise="back-squat", sets=sets),)))
    rule = Deload(every_weeks=2, sets_pct=Decimal(50), load_pct=Decimal(-90))
    (slot,) = changed_session(light, SessionChanges(deload=rule), EXERCISES).session.slots
    assert (slot.sets[0].count, slot.sets[0].load) == (2, PercentLoad(of="tested", pct=Decimal(5)))


def test_faults_of_a_slot_stand_at_their_place_in_it() -> None:
    faults = with_slot(session(), "A1", {"sets": [{"reps_low": 5}, {"count": 2}]}, EXERCISES)
    assert isinstance(faults, list)
    assert {fault.pointer for fault in faults} == {"#/sets/1"}


def test_repetitions_of_what_is_held_are_refused_where_they_come_from() -> None:
    facts = EXERCISES | {
        "plank": ExerciseFacts(key="plank", name="Plank", pattern="trunk_stability", measure="seconds")
    }
    refused = with_slot(session(), "A1", {"exercise": "plank"}, facts)
    assert isinstance(refused, list)
    (by_exercise,) = refused
    assert (by_exercise.pointer, by_exercise.code) == ("#/exercise", "reps_for_hold")
    assert by_exercise.message == "Plank is measured in seconds: send sets with duration_s along, not repetitions."
    refused = with_slot(session(), "A1", {"exercise": "plank", "sets": [{"count": 3, "reps_low": 8}]}, facts)
    assert isinstance(refused, list)
    (by_sets,) = refused
    assert by_sets.pointer == "#/sets/0/reps_low"
    held = with_slot(session(), "A1", {"exercise": "plank", "sets": [{"count": 3, "duration_s": 40}]}, facts)
    assert isinstance(held, Session)


def test_a_swap_of_a_swap_does_the_last_exercise() -> None:
    first = swapped_changes(SessionChanges(), "back-squat", "front-squat")
    second = swapped_changes(first, "front-squat", "box-squat")
    (slot,) = changed_session(session(), second, EXERCISES).session.slots
    assert slot.exercise == "box-squat"
    back = swapped_changes(second, "box-squat", "back-squat")
    assert changed_session(session(), back, EXERCISES).session.slots[0].exercise == "back-squat"


def test_a_swap_takes_over_a_changed_slot_without_the_load_written_for_the_other() -> None:
    load = {"kind": "absolute", "load_kg": "70"}
    slots = {"A1": {"exercise": "front-squat", "sets": [{"count": 2, "reps_low": 3, "load": load}]}}
    swapped = swapped_changes(SessionChanges(slots=slots), "front-squat", "box-squat")
    (slot,) = changed_session(session(), swapped, EXERCISES).session.slots
    assert (slot.exercise, slot.sets[0].count, slot.sets[0].load) == ("box-squat", 2, None)
