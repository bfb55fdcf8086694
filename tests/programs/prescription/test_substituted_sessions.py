"""A client's substitutes in a session: what stays as written, and what is found anew."""

from typing import Any

import pytest

from programs.prescription.structure import Session, SetGroup
from programs.prescription.substituted_sessions import own_substitutions, substituted_session
from tests.programs.prescription.cast import EXERCISES, block, session, slot

ABSOLUTE = {"kind": "absolute", "load_kg": "80"}
PERCENT = {"kind": "percent", "of": "tested", "pct": "75"}
RELATIVE = {"kind": "relative_to_top", "pct": "-10"}
BODY = {"kind": "bodyweight"}
BAND = {"kind": "band", "text": "green"}


def last_set(written: Session, index: int = 0) -> SetGroup:
    return written.slots[index].sets[-1]


def one(exercise: str, load: Any, **fields: Any) -> Session:
    sets = ({"kind": "top", "reps_low": 3, "rpe": 8}, {"count": 3, "reps_low": 8, "load": load})
    return session(block("straight", slot("A1", exercise, *sets, **fields)))


@pytest.mark.parametrize(
    ("load", "substitute", "kept"),
    [
        (ABSOLUTE, "split-squat", False),
        (PERCENT, "split-squat", True),
        (PERCENT, "pull-up", False),
        (RELATIVE, "split-squat", True),
        (BODY, "pull-up", True),
        (BODY, "split-squat", False),
        (BAND, "split-squat", False),
        (None, "split-squat", False),
    ],
)
def test_a_load_carries_over_only_where_it_still_means_something(load: Any, substitute: str, kept: bool) -> None:
    before = one("back-squat", load)
    after = last_set(substituted_session(before, {"back-squat": substitute}, EXERCISES))
    assert after.load == (last_set(before).load if kept else None)
    assert (after.count, after.reps_low) == (3, 8)


@pytest.mark.parametrize(
    ("exercise", "substitute", "before", "after"),
    [
        ("back-squat", "split-squat", False, True),
        ("split-squat", "back-squat", True, False),
        ("split-squat", "get-up", True, True),
        ("split-squat", "get-up", False, False),
        ("back-squat", "curl", False, False),
    ],
)
def test_sides_follow_the_substitute(exercise: str, substitute: str, before: bool, after: bool) -> None:
    written = one(exercise, None, per_side=before)
    assert substituted_session(written, {exercise: substitute}, EXERCISES).slots[0].per_side is after


def test_the_same_load_as_another_slot_holds_while_both_do_the_same() -> None:
    sets = {"reps_low": 5, "load": {"kind": "same_as", "slot_key": "A1"}}
    both = session(
        block("straight", slot("A1", "back-squat", {"reps_low": 5})), block("straight", slot("B1", "back-squat", sets))
    )
    assert last_set(substituted_session(both, {"back-squat": "split-squat"}, EXERCISES), 1).load is not None
    unlike = session(
        block("straight", slot("A1", "back-squat", {"reps_low": 5})), block("straight", slot("B1", "split-squat", sets))
    )
    assert last_set(substituted_session(unlike, {"back-squat": "curl"}, EXERCISES), 1).load is None
    assert last_set(substituted_session(unlike, {"bench-press": "curl"}, EXERCISES), 1).load is not None


def test_an_entry_piece_is_replaced_too() -> None:
    written = session(
        block(
            "max_rounds",
            slot("C1", "curl", {"reps_low": 10}),
            minutes=10,
            entry={"exercise": "rowing-machine", "duration_s": 120},
        )
    )
    entry = substituted_session(written, {"rowing-machine": "plank"}, EXERCISES).blocks[0].entry
    assert entry is not None
    assert (entry.exercise, entry.duration_s) == ("plank", 120)


def test_a_session_without_any_of_the_exercises_stays_the_same_one() -> None:
    written = one("back-squat", ABSOLUTE)
    assert substituted_session(written, {"curl": "plank"}, EXERCISES) is written
    assert own_substitutions(written, {"curl": "plank", "back-squat": "split-squat"}) == {"back-squat": "split-squat"}
