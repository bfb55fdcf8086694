"""A few exercises and sessions of our own, shared by the tests of prescriptions."""

from decimal import Decimal
from typing import Any

from programs.prescription.document import decode_session
from programs.prescription.phase_words import PhaseWords
from programs.prescription.structure import ExerciseFacts, Session

BENCH_PRESS = ExerciseFacts(
    key="bench-press",
    name="Bench press",
    pattern="horizontal_push",
    starts_at="shortened",
    restful_end="shortened",
    rests_muscles=("chest", "triceps"),
    primary_muscles=("chest",),
    secondary_muscles=("triceps", "front_delts"),
    station="bench",
    loading="barbell",
    phase_words=PhaseWords(
        eccentric="bar down", lengthened="on the chest", concentric="bar up", shortened="locked out"
    ),
)
PULL_UP = ExerciseFacts(
    key="pull-up",
    name="Pull-up",
    pattern="vertical_pull",
    starts_at="lengthened",
    restful_end="lengthened",
    rests_muscles=("lats",),
    primary_muscles=("lats",),
    secondary_muscles=("biceps",),
    station="bar",
    loading="bodyweight",
    load_basis="added",
    bodyweight_share=Decimal(1),
    phase_words=PhaseWords(
        eccentric="body down", lengthened="hanging", concentric="body up", shortened="chin over the bar"
    ),
)
BACK_SQUAT = ExerciseFacts(
    key="back-squat",
    name="Back squat",
    pattern="squat",
    starts_at="shortened",
    restful_end="shortened",
    rests_muscles=("quadriceps",),
    primary_muscles=("quadriceps", "glutes"),
    secondary_muscles=("adductors",),
    station="rack",
    loading="barbell",
)
SPLIT_SQUAT = ExerciseFacts(
    key="split-squat",
    name="Split squat",
    pattern="lunge",
    starts_at="shortened",
    restful_end="shortened",
    primary_muscles=("quadriceps",),
    secondary_muscles=("glutes",),
    laterality="unilateral",
    station="floor",
    loading="dumbbell_pair",
    load_basis="each_hand",
)
CURL = ExerciseFacts(
    key="curl",
    name="Curl",
    pattern="elbow_flexion",
    starts_at="lengthened",
    restful_end="lengthened",
    primary_muscles=("biceps",),
    station="floor",
    loading="dumbbell_pair",
    load_basis="each_hand",
)
PLANK = ExerciseFacts(
    key="plank",
    name="Plank",
    pattern="trunk_stability",
    primary_muscles=("abdominals",),
    measure="seconds",
    station="floor",
    repetition_s=Decimal(1),
)
ROWER = ExerciseFacts(
    key="rowing-machine",
    name="Rowing machine",
    pattern="steady_conditioning",
    measure="metres",
    station="rower",
    loading="machine_monitor",
    repetition_s=Decimal("0.25"),
)
GET_UP = ExerciseFacts(
    key="get-up",
    name="Get-up",
    pattern="get_up",
    starts_at="lengthened",
    primary_muscles=("abdominals",),
    laterality="unilateral",
    station="floor",
    loading="kettlebell",
    repetition_s=Decimal(20),
    complexity=3,
)
EXERCISES = {facts.key: facts for facts in (BENCH_PRESS, PULL_UP, BACK_SQUAT, SPLIT_SQUAT, CURL, PLANK, ROWER, GET_UP)}


def slot(slot_key: str, exercise: str, *sets: dict[str, Any], **fields: Any) -> dict[str, Any]:
    """Write a slot's document."""
    return {"slot_key": slot_key, "exercise": exercise, "sets": list(sets), **fields}


def block(kind: str, *slots: dict[str, Any], **fields: Any) -> dict[str, Any]:
    """Write a block's document."""
    return {"kind": kind, "slots": list(slots), **fields}


def session(*blocks: dict[str, Any], **fields: Any) -> Session:
    """Read a session of these blocks."""
    return decode_session({"blocks": list(blocks), **fields})
