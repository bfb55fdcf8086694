"""What holds of a session whatever is added to it, taken out of it and put back."""

import orjson
from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.changed_snapshots import changed_snapshot
from programs.prescription.document import decode_session, encode_session
from programs.prescription.planned_sets import planned_sets
from programs.prescription.session_changes import SessionChanges, changed_session
from programs.prescription.session_changes_document import encode_changes, read_changes
from programs.prescription.session_edits import NewPlace, SlotEdit, edited_changes
from programs.prescription.snapshot import session_frame, session_snapshot
from programs.prescription.snapshot_reading import snapshot_session
from tests.programs.prescription.cast import EXERCISES, block, session, slot

FIVE = {"count": 3, "reps_low": 5, "rpe": 8}
ONCE = {"reps_low": 10, "tempo": "2010"}
SAME = {"count": 2, "reps_low": 8, "load": {"kind": "same_as", "slot_key": "A1"}}
DAY = session(
    block("straight", slot("A1", "back-squat", FIVE, rest_s=180)),
    block("paired", slot("B1", "bench-press", FIVE, rest_s=15), slot("B2", "split-squat", SAME, rest_s=90)),
    block("circuit", slot("C1", "curl", ONCE), slot("C2", "get-up", ONCE), slot("C3", "pull-up", ONCE), rounds=3),
    block("max_rounds", slot("D1", "curl", ONCE), minutes=8, entry={"exercise": "rowing-machine", "duration_s": 60}),
)
OTHER = session(
    block("paired", slot("B2", "bench-press", FIVE), slot("A1", "pull-up", FIVE), slot("X1", "curl", SAME)),
    block("circuit", slot("C1", "curl", ONCE), slot("C2", "get-up", ONCE), rounds=2),
)
KEYS = ["A1", "B1", "B2", "C1", "C2", "C3", "D1", "X1", "X2", "X3"]
BLOCKS = [None, {"kind": "straight"}, {"kind": "circuit", "rounds": 2}, {"kind": "max_rounds", "minutes": 5}]


@st.composite
def edits(draw):
    key = draw(st.sampled_from(KEYS))
    what = draw(st.sampled_from(["add", "add", "slot", "slot", "block", "back", "fields"]))
    if what in ("slot", "block"):
        return SlotEdit(slot_key=key, take_out=what)
    if what == "back":
        return SlotEdit(slot_key=key)
    sets = {"sets": [draw(st.sampled_from([FIVE, ONCE, SAME]))]}
    if what == "fields":
        return SlotEdit(slot_key=key, fields=draw(st.sampled_from([sets, {"rest_s": 45}])))
    return SlotEdit(
        slot_key=draw(st.sampled_from(["X1", "X2", "X3"])),
        fields={"exercise": draw(st.sampled_from(["curl", "pull-up"])), **sets},
        place=NewPlace(
            block=draw(st.sampled_from(BLOCKS)),
            beside=draw(st.sampled_from([None, *KEYS])),
            before=draw(st.booleans()),
        ),
    )


calls = st.lists(st.lists(edits(), min_size=1, max_size=3), min_size=1, max_size=8)


def followed(changes, *calls):
    for call in calls:
        found = edited_changes(DAY, changes, call, EXERCISES)
        if isinstance(found, SessionChanges):
            changes = read_changes(orjson.loads(orjson.dumps(encode_changes(found))))
            assert changes == found
    return changes


def written_out(changed):
    return orjson.dumps(changed_snapshot(changed, EXERCISES, {}, unit="kg").prescribed)


@settings(max_examples=150, deadline=None)
@given(calls)
def test_every_sequence_of_edits_leaves_a_session_that_can_be_followed(made):
    changes = followed(SessionChanges(), *made)
    found = changed_session(DAY, changes, EXERCISES)
    assert not found.without_place
    assert decode_session(encode_session(found.session)) == found.session
    keys = [one.slot_key for one in found.session.slots]
    added = {key for entry in changes.added for key in entry.slot_keys}
    assert set(keys) == ({one.slot_key for one in DAY.slots} - set(changes.removed)) | added
    prescribed = orjson.loads(written_out(found))
    assert snapshot_session(prescribed) == found.session
    assert list(session_frame(found.session, EXERCISES).slot_classes) == keys
    assert list(dict.fromkeys(planned_sets(prescribed).slots)) == keys
    assert {line["slot_key"] for block in prescribed["blocks"] for line in block["slots"] if "added" in line} == added


@settings(max_examples=60, deadline=None)
@given(calls, st.randoms(use_true_random=False))
def test_putting_every_slot_back_gives_the_original_byte_for_byte(made, random):
    changes = followed(SessionChanges(), *made)
    touched = [*changes.removed, *changes.slots, *(key for entry in changes.added for key in entry.slot_keys)]
    random.shuffle(touched)
    # One call, since what one slot returns to may hang on another.
    back = followed(changes, [SlotEdit(slot_key=key) for key in touched])
    assert encode_changes(back) is None
    original = orjson.dumps(session_snapshot(DAY, EXERCISES, {}, unit="kg").prescribed)
    assert written_out(changed_session(DAY, back, EXERCISES)) == original


@settings(max_examples=80, deadline=None)
@given(calls)
def test_another_version_takes_what_it_has_a_place_for_and_says_the_rest(made):
    changes = followed(SessionChanges(), *made)
    found = changed_session(OTHER, changes, EXERCISES)
    assert decode_session(encode_session(found.session)) == found.session
    keys = {one.slot_key for one in found.session.slots}
    for entry in changes.added:
        assert all(key in found.added or key in found.without_place for key in entry.slot_keys)
    for key in changes.removed:
        assert key not in keys or key in found.without_place
    assert changed_session(DAY, changes, EXERCISES).without_place == {}
