"""Slots added to one session and taken out of it."""

from typing import Any

import pytest

from programs.prescription.changed_snapshots import changed_snapshot
from programs.prescription.session_changes import ChangedSession, SessionChanges, changed_session
from programs.prescription.session_changes_document import encode_changes, read_changes, renamed_changes
from programs.prescription.session_edits import NewPlace, RefusedEdits, SlotEdit, edited_changes
from programs.prescription.structure import Session
from tests.programs.prescription.cast import EXERCISES, block, session, slot

FIVE = {"count": 3, "reps_low": 5}
ONCE = {"reps_low": 10}
SQUAT = block("straight", slot("A1", "back-squat", FIVE, rest_s=180))
PAIR = block("paired", slot("B1", "bench-press", FIVE, rest_s=15), slot("B2", "pull-up", FIVE, rest_s=90))
CIRCUIT = block(
    "circuit",
    slot("C1", "curl", ONCE),
    slot("C2", "get-up", ONCE),
    rounds=3,
    entry={"exercise": "rowing-machine", "duration_s": 120},
)


def day(*blocks: dict[str, Any]) -> Session:
    return session(*(blocks or (SQUAT, PAIR, CIRCUIT)))


def added(key: str, exercise: str = "curl", *sets: dict[str, Any], **place: Any) -> SlotEdit:
    fields = {"exercise": exercise, "sets": list(sets or (FIVE,))}
    return SlotEdit(slot_key=key, fields=fields, place=NewPlace(**place))


def out(key: str, what: Any = "slot") -> SlotEdit:
    return SlotEdit(slot_key=key, take_out=what)


def edited(written: Session, *edits: SlotEdit, changes: SessionChanges | None = None) -> SessionChanges:
    found = edited_changes(written, changes or SessionChanges(), edits, EXERCISES)
    assert isinstance(found, SessionChanges), found
    assert read_changes(encode_changes(found)) == found
    return found


def changed(written: Session, *edits: SlotEdit, changes: SessionChanges | None = None) -> ChangedSession:
    return changed_session(written, edited(written, *edits, changes=changes), EXERCISES)


def layout(found: ChangedSession) -> list[tuple[str, list[str]]]:
    assert not found.without_place
    return [(one.kind, [slot.slot_key for slot in one.slots]) for one in found.session.blocks]


def refused(written: Session, *edits: SlotEdit, changes: SessionChanges | None = None) -> list[tuple[Any, str, str]]:
    found = edited_changes(written, changes or SessionChanges(), edits, EXERCISES)
    assert isinstance(found, RefusedEdits), found
    return [(index, one.pointer, one.code) for index, faults in found.faults.items() for one in faults]


def sentence(written: Session, *edits: SlotEdit) -> str:
    found = edited_changes(written, SessionChanges(), edits, EXERCISES)
    assert isinstance(found, RefusedEdits)
    return next(iter(found.faults.values()))[0].message


def test_a_pair_left_with_one_slot_is_straight_and_rests_as_its_round_did() -> None:
    found = changed(day(), out("B2"))
    assert layout(found)[1] == ("straight", ["B1"])
    assert found.session.blocks[1].slots[0].rest_s == 90


def test_a_rest_between_rounds_becomes_the_rest_of_the_slot_left_alone() -> None:
    slots = (slot("B1", "bench-press", FIVE), slot("B2", "pull-up", FIVE, rest_s=10))
    written = day(block("paired", *slots, rest_between_rounds_s=150))
    for gone, left in (("B1", "B2"), ("B2", "B1")):
        (straight,) = changed(written, out(gone)).session.blocks
        assert (straight.kind, straight.rest_between_rounds_s) == ("straight", None)
        assert (straight.slots[0].slot_key, straight.slots[0].rest_s) == (left, 150)


def test_a_rest_that_was_not_said_stays_that_of_the_goal() -> None:
    written = day(block("paired", slot("B1", "bench-press", FIVE), slot("B2", "pull-up", FIVE, rest_s=90)))
    assert changed(written, out("B2")).session.slots[0].rest_s is None


def test_a_straight_block_with_a_second_slot_is_a_pair_and_takes_four() -> None:
    assert layout(changed(day(), added("A2", beside="A1")))[0] == ("paired", ["A1", "A2"])
    more = [added(f"A{number}", beside="A1") for number in (2, 3, 4)]
    assert layout(changed(day(), *more))[0] == ("paired", ["A1", "A4", "A3", "A2"])
    assert refused(day(), *more, added("A5", beside="A1"))[-1] == (3, "#/slot_key", "slot_count")


def test_a_slot_comes_before_or_after_another_or_in_a_block_of_its_own() -> None:
    found = changed(
        day(),
        added("C0", "curl", ONCE, beside="C1", before=True),
        added("C3", "curl", ONCE, beside="C2"),
        added("X1", block={"kind": "straight"}, beside="A1", before=True),
        added("X2", block={"kind": "straight"}, beside="A1"),
        added("X3", block={"kind": "straight"}, beside="X2"),
        added("X4", block={"kind": "straight", "label": "Last"}),
        added("X5"),
        added("X6", beside="X4"),
    )
    assert layout(found) == [
        ("straight", ["X1"]),
        ("straight", ["A1"]),
        ("straight", ["X2"]),
        ("straight", ["X3"]),
        ("paired", ["B1", "B2"]),
        ("circuit", ["C0", "C1", "C2", "C3"]),
        ("paired", ["X4", "X6"]),
        ("straight", ["X5"]),
    ]


def test_edits_of_one_call_are_judged_together() -> None:
    block_of = {"kind": "circuit", "rounds": 4, "entry": {"exercise": "rowing-machine", "distance_m": 500}}
    first, second = added("D1", "curl", ONCE, block=block_of), added("D2", "plank", {"duration_s": 30}, beside="D1")
    found = changed(day(), first, second)
    assert layout(found)[3] == ("circuit", ["D1", "D2"])
    assert found.session.blocks[3].entry is not None
    assert refused(day(), first) == [(0, "#/slot_key", "slot_count")]
    assert layout(changed(day(), out("C1"), added("C3", "curl", ONCE, beside="C2")))[2] == ("circuit", ["C2", "C3"])


def test_a_slot_takes_the_place_of_one_that_is_taken_out() -> None:
    found = changed(day(), added("A2", beside="A1"), out("A1"))
    assert layout(found)[0] == ("straight", ["A2"])


def test_a_block_left_with_nothing_is_gone_with_its_entry_piece() -> None:
    found = changed(day(), out("C1", "block"))
    assert layout(found) == [("straight", ["A1"]), ("paired", ["B1", "B2"])]
    assert edited(day(), out("C1", "block")).removed == ("C1", "C2")
    grown = edited(day(), added("C3", "curl", ONCE, beside="C2"))
    assert edited(day(), out("C3", "block"), changes=grown) == SessionChanges(removed=("C1", "C2"))


def test_a_circuit_of_one_is_refused_with_a_sentence() -> None:
    assert refused(day(), out("C1")) == [(0, "#/slot_key", "slot_count")]
    assert sentence(day(), out("C1")).startswith("The block of C2: circuit blocks have 2 to")


def test_the_last_slot_is_not_taken_out() -> None:
    assert refused(day(SQUAT), out("A1")) == [(0, "#/slot_key", "nothing_left")]
    assert "excuse" in sentence(day(SQUAT), out("A1"))


SAME = {"count": 2, "reps_low": 8, "load": {"kind": "same_as", "slot_key": "A1"}}


def test_a_slot_whose_load_another_takes_stays_until_that_has_another() -> None:
    written = day(SQUAT, block("straight", slot("B1", "split-squat", SAME)))
    assert refused(written, out("A1")) == [(0, "#/slot_key", "load_of_removed_slot")]
    assert "B1 takes its load from A1" in sentence(written, out("A1"))
    other = SlotEdit(slot_key="B1", fields={"sets": [{"count": 2, "reps_low": 8, "rpe": 8}]})
    assert layout(changed(written, out("A1"), other)) == [("straight", ["B1"])]
    more = day(SQUAT, block("straight", slot("B1", "curl", SAME)), CIRCUIT)
    assert layout(changed(more, out("A1"), out("B1"))) == [("circuit", ["C1", "C2"])]


def test_a_changed_slot_that_takes_the_load_holds_it_too() -> None:
    changes = edited(day(), SlotEdit(slot_key="B1", fields={"sets": [SAME]}))
    assert refused(day(), out("A1"), changes=changes) == [(0, "#/slot_key", "load_of_removed_slot")]
    grown = edited(day(), added("X1", block={"kind": "straight"}, beside="A1", before=True), added("D1", "curl"))
    taken = {"count": 1, "reps_low": 5, "load": {"kind": "same_as", "slot_key": "X1"}}
    grown = edited(day(), SlotEdit(slot_key="D1", fields={"sets": [taken]}), changes=grown)
    assert refused(day(), SlotEdit(slot_key="X1"), changes=grown) == [(None, "#/sets", "unknown_slot")]


@pytest.mark.parametrize(
    ("edit", "pointer", "code"),
    [
        (added("A1"), "#/slot_key", "slot_key_repeated"),
        (added("D1", beside="Z9"), "#/add/after", "unknown_slot"),
        (added("D1", beside="Z9", before=True), "#/add/before", "unknown_slot"),
        (added("D1", "curl", {"count": 2}), "#/sets/0", "no_measure"),
        (added("D1", "curl", {"count": 2, "reps_low": "x"}), "#/sets/0/reps_low", "wrong_type"),
        (added("D1", block={"kind": "interval"}), "#/add/block/rounds", "required"),
        (added("D1", block={"kind": "straight", "round": 3}), "#/add/block/round", "unknown_field"),
        (added("D1", block={"label": "D"}), "#/add/block/kind", "required"),
        (added("D 1"), "#/slot_key", "wrong_form"),
        (added("C3", "curl", {**FIVE, "count": 2}, beside="C2"), "#/sets", "sets_in_rounds"),
        (out("Z9"), "#/slot_key", "unknown_slot"),
        (out("Z9", "block"), "#/slot_key", "unknown_slot"),
    ],
)
def test_what_nobody_could_follow_is_refused_at_its_place(edit: SlotEdit, pointer: str, code: str) -> None:
    assert (0, pointer, code) in refused(day(), edit)


def test_what_is_taken_out_is_put_back_before_it_is_changed() -> None:
    changes = edited(day(), SlotEdit(slot_key="B1", fields={"rest_s": 60}), added("D1"))
    changes = edited(day(), out("B1"), changes=changes)
    assert (changes.removed, dict(changes.slots)) == (("B1",), {})
    rest = SlotEdit(slot_key="B1", fields={"rest_s": 75})
    assert refused(day(), rest, changes=changes) == [(0, "#/slot_key", "slot_taken_out")]
    assert edited(day(), SlotEdit(slot_key="B1"), rest, changes=changes).slots == {"B1": {"rest_s": 75}}
    assert refused(day(), added("D1"), changes=changes) == [(0, "#/slot_key", "slot_key_repeated")]


def test_an_added_slot_is_changed_and_taken_back_as_any_other() -> None:
    changes = edited(day(), added("D1", block={"kind": "straight"}), added("D2", beside="D1"))
    changes = edited(
        day(), SlotEdit(slot_key="D2", fields={"exercise": "plank", "sets": [{"duration_s": 30}]}), changes=changes
    )
    changes = edited(day(), out("D1"), changes=changes)
    found = changed_session(day(), changes, EXERCISES)
    assert layout(found)[-1] == ("straight", ["D2"])
    assert found.session.slots[-1].exercise == "plank"
    assert edited(day(), SlotEdit(slot_key="D2"), changes=changes) == SessionChanges()


def test_substitutes_and_swaps_reach_what_was_added() -> None:
    changes = edited(day(), added("D1", "curl", {**FIVE, "load": {"kind": "absolute", "load_kg": 10}}))
    own = changed_session(day(), changes, EXERCISES, {"curl": "pull-up"})
    assert (own.session.slots[-1].exercise, own.session.slots[-1].sets[0].load) == ("pull-up", None)
    line = changed_snapshot(own, EXERCISES, {}, unit="kg").prescribed["blocks"][-1]["slots"][0]
    assert (line["added"], line["substituted_for"]) == (True, "curl")
    swapped = SessionChanges(added=changes.added, swaps={"pull-up": "bench-press"})
    assert changed_session(day(), swapped, EXERCISES, {"curl": "pull-up"}).session.slots[-1].exercise == "bench-press"


def test_a_session_that_no_longer_has_the_ground_leaves_the_change_out_and_says_so() -> None:
    changes = edited(day(), added("A2", beside="A1"), added("D1"), out("B2"), added("C3", "curl", ONCE, beside="C2"))
    other = day(
        block("straight", slot("D1", "back-squat", FIVE)),
        block("straight", slot("B1", "split-squat", FIVE)),
        block("paired", slot("C1", "curl", FIVE), slot("C2", "pull-up", FIVE)),
    )
    found = changed_session(other, changes, EXERCISES)
    assert set(found.without_place) == {"A2", "D1", "B2"}
    assert found.without_place["A2"].startswith("A2 was added beside A1; the session has the slots D1, B1, C1, C2")
    assert "D1" in found.without_place["D1"]
    assert [one.slot_key for one in found.session.slots] == ["D1", "B1", "C1", "C2", "C3"]
    assert found.added == {"C3"}
    assert layout(changed_session(day(), changes, EXERCISES))[1] == ("straight", ["B1"])


def test_a_removal_that_a_new_version_cannot_bear_is_left_out_and_said() -> None:
    changes = edited(day(), out("A1"), out("B2"))
    other = day(SQUAT, block("straight", slot("B1", "split-squat", SAME)), block("straight", slot("B2", "curl", FIVE)))
    found = changed_session(other, changes, EXERCISES)
    assert found.without_place == {"A1": "B1 takes its load from A1: give B1 another load, or take it out too."}
    assert [one.slot_key for one in found.session.slots] == ["A1", "B1"]


def test_a_change_without_ground_bars_no_other_edit() -> None:
    changes = edited(day(), added("A2", beside="A1"))
    other = day(PAIR)
    assert edited(other, SlotEdit(slot_key="B1", fields={"rest_s": 60}), changes=changes).added == changes.added


def test_a_merged_exercise_is_renamed_in_what_was_added() -> None:
    entry = {"exercise": "rowing-machine", "duration_s": 60}
    changes = edited(
        day(), added("D1", "curl", ONCE, block={"kind": "max_rounds", "minutes": 5, "entry": entry}), out("B2")
    )
    kept = encode_changes(changes)
    assert kept is not None
    renamed = read_changes(renamed_changes(renamed_changes(kept, "curl", "pull-up"), "rowing-machine", "bike"))
    assert renamed.exercises == {"pull-up", "bike"}
    assert renamed.removed == ("B2",)
