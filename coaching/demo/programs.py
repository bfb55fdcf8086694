"""The demo business's program: three variants of sixteen weeks, as version documents."""

from typing import Any, Final

WEEKS: Final = 16
"""Twelve are logged: on the last day of them more than ten days are still written, so that no program runs out."""
DELOAD_WEEKS: Final = frozenset({4, 8, 13})

PROGRAM: Final = "Paired strength, forty-five minutes"
GYM: Final = "Gym, three days"
DUMBBELLS: Final = "Dumbbells, two days"
HOME: Final = "Home kit, any three days"

Slot = dict[str, Any]


def version_documents() -> dict[str, dict[str, Any]]:
    """Return the content document of each variant, by the variant's name."""
    return {
        GYM: _weeks([_gym_lower, _gym_upper, _gym_whole]),
        DUMBBELLS: _weeks([_dumbbell_push, _dumbbell_pull]),
        HOME: _weeks([_home_squat, _home_push, _home_swing]),
    }


def _weeks(days: list[Any]) -> dict[str, Any]:
    return {
        "weeks": [
            {
                "week_number": week,
                "deload": week in DELOAD_WEEKS,
                "days": [
                    {"day_number": number, **day(2 if week in DELOAD_WEEKS else 4)}
                    for number, day in enumerate(days, start=1)
                ],
            }
            for week in range(1, WEEKS + 1)
        ]
    }


def _slot(key: str, exercise: str, goal: str, rest_s: int, sets: list[dict[str, Any]], **more: Any) -> Slot:
    return {"slot_key": key, "exercise": exercise, "goal": goal, "rest_s": rest_s, "sets": sets, **more}


def _sets(count: int, low: int, high: int, tempo: str, **more: Any) -> list[dict[str, Any]]:
    return [{"count": count, "kind": "work", "reps_low": low, "reps_high": high, "tempo": tempo, **more}]


def _percent(pct: int) -> dict[str, Any]:
    return {"load": {"kind": "percent", "of": "training_max", "pct": str(pct)}}


def _pair(label: str, *slots: Slot) -> dict[str, Any]:
    return {"kind": "paired", "label": label, "slots": list(slots)}


def _gym_lower(sets: int) -> dict[str, Any]:
    return {
        "template_key": "gym-lower",
        "title": "Squat and pull",
        "cap_min": 50,
        "blocks": [
            _pair(
                "A",
                _slot("A1", "back-squat", "strength", 90, _sets(sets, 5, 6, "20X1", **_percent(80))),
                _slot("A2", "pull-up", "strength", 90, _sets(sets, 4, 6, "31X2", in_reserve=2)),
            ),
            _pair(
                "B",
                _slot("B1", "split-squat", "size", 60, _sets(sets - 1, 8, 10, "3010", rpe=8), per_side=True),
                _slot("B2", "hollow-hold", "endurance", 60, [{"count": sets - 1, "kind": "work", "duration_s": 30}]),
            ),
        ],
    }


def _gym_upper(sets: int) -> dict[str, Any]:
    return {
        "template_key": "gym-upper",
        "title": "Press and row",
        "cap_min": 50,
        "blocks": [
            _pair(
                "A",
                _slot("A1", "bench-press", "strength", 90, _sets(sets, 5, 6, "21X1", **_percent(80))),
                _slot("A2", "one-arm-dumbbell-row", "size", 60, _sets(sets, 8, 8, "20X1", rpe=8), per_side=True),
            ),
            _pair(
                "B",
                _slot("B1", "overhead-press", "size", 60, _sets(sets - 1, 8, 10, "2010", rpe=8)),
                _slot("B2", "ring-row", "size", 60, _sets(sets - 1, 8, 12, "2011", rpe=8)),
            ),
        ],
    }


def _gym_whole(sets: int) -> dict[str, Any]:
    return {
        "template_key": "gym-whole",
        "title": "Pull, dip and row",
        "cap_min": 50,
        "blocks": [
            _pair(
                "A",
                _slot("A1", "deadlift", "strength", 120, _sets(sets - 1, 4, 5, "20X1", **_percent(82))),
                _slot("A2", "dip", "size", 90, _sets(sets - 1, 6, 10, "21X1", in_reserve=2)),
            ),
            {
                "kind": "max_rounds",
                "label": "B",
                "minutes": 8,
                "entry": {"exercise": "rowing-machine", "duration_s": 120},
                "slots": [
                    _slot("B1", "get-up", "conditioning", 0, [{"count": 1, "kind": "work", "reps_low": 2}]),
                    _slot("B2", "sit-up", "conditioning", 0, [{"count": 1, "kind": "work", "reps_low": 12}]),
                ],
            },
        ],
    }


def _dumbbell_push(sets: int) -> dict[str, Any]:
    return {
        "template_key": "dumbbell-push",
        "title": "Dumbbell press and hinge",
        "cap_min": 45,
        "blocks": [
            _pair(
                "A",
                _slot("A1", "dumbbell-bench-press", "strength", 90, _sets(sets, 6, 8, "21X1", in_reserve=2)),
                _slot("A2", "dumbbell-romanian-deadlift", "size", 90, _sets(sets, 8, 10, "3010", rpe=8)),
            ),
            _pair(
                "B",
                _slot("B1", "step-up", "size", 60, _sets(sets - 1, 8, 10, "2010", rpe=8), per_side=True),
                _slot("B2", "plank", "endurance", 60, [{"count": sets - 1, "kind": "work", "duration_s": 45}]),
            ),
        ],
    }


def _dumbbell_pull(sets: int) -> dict[str, Any]:
    return {
        "template_key": "dumbbell-pull",
        "title": "Dumbbell row and squat",
        "cap_min": 45,
        "blocks": [
            _pair(
                "A",
                _slot("A1", "split-squat", "strength", 90, _sets(sets, 6, 8, "30X1", in_reserve=2), per_side=True),
                _slot("A2", "one-arm-dumbbell-row", "size", 60, _sets(sets, 8, 10, "20X1", rpe=8), per_side=True),
            ),
            _pair(
                "B",
                _slot("B1", "seated-dumbbell-press", "size", 60, _sets(sets - 1, 8, 10, "2010", rpe=8)),
                _slot("B2", "dead-bug", "endurance", 45, _sets(sets - 1, 8, 10, "2020", rpe=7)),
            ),
        ],
    }


def _home_squat(sets: int) -> dict[str, Any]:
    return {
        "template_key": "home-squat",
        "title": "Goblet squat and push-up",
        "cap_min": 40,
        "blocks": [
            _pair(
                "A",
                _slot("A1", "goblet-squat", "size", 60, _sets(sets, 8, 10, "4110", in_reserve=2)),
                _slot("A2", "push-up", "size", 60, _sets(sets, 8, 12, "2110", in_reserve=2)),
            ),
        ],
    }


def _home_push(sets: int) -> dict[str, Any]:
    return {
        "template_key": "home-get-up",
        "title": "Get-up and side plank",
        "cap_min": 40,
        "blocks": [
            _pair(
                "A",
                _slot("A1", "get-up", "technique", 60, [{"count": sets, "kind": "work", "reps_low": 2}], per_side=True),
                _slot(
                    "A2",
                    "side-plank",
                    "endurance",
                    45,
                    [{"count": sets, "kind": "work", "duration_s": 30}],
                    per_side=True,
                ),
            ),
        ],
    }


def _home_swing(sets: int) -> dict[str, Any]:
    return {
        "template_key": "home-swing",
        "title": "Swings and single-leg hinge",
        "cap_min": 40,
        "blocks": [
            {
                "kind": "interval",
                "label": "A",
                "rounds": 8,
                "work_s": 20,
                "off_s": 40,
                "slots": [
                    _slot("A1", "kettlebell-swing", "conditioning", 0, [{"count": 1, "kind": "work", "reps_low": 10}])
                ],
            },
            _pair(
                "B",
                _slot(
                    "B1",
                    "single-leg-romanian-deadlift",
                    "size",
                    60,
                    _sets(sets, 8, 8, "3010", rpe=8),
                    per_side=True,
                ),
                _slot("B2", "push-up", "size", 60, _sets(sets, 8, 12, "2110", in_reserve=2)),
            ),
        ],
    }
