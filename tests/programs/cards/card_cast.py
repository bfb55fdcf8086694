"""Cards of sessions of our own invention, without a database."""

from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import Any
from uuid import UUID

from programs.catalogue.entries import load_entries
from programs.documents.session_card import SessionCard, session_card
from programs.prescription.document import decode_session
from programs.prescription.loads import ReferenceLoad
from programs.prescription.phase_words import PhaseWords
from programs.prescription.snapshot import References, session_snapshot
from programs.prescription.snapshot_reading import snapshot_session
from programs.prescription.structure import ExerciseFacts, session_exercises
from programs.prescription.vocabulary import LoadUnit
from programs.selectors.cards import CardFacts

PLANNED_ID = UUID("01900000-0000-7000-8000-000000000001")
CLIENT_ID = UUID("01900000-0000-7000-8000-000000000002")


@cache
def catalogue() -> dict[str, ExerciseFacts]:
    """What the shared catalogue knows of each exercise, by key."""
    return {entry.key: _facts(entry) for entry in load_entries()}


def _facts(entry: Any) -> ExerciseFacts:
    words = entry.phase_words
    given = {name: getattr(entry, name) for name in ExerciseFacts.__dataclass_fields__ if hasattr(entry, name)}
    for name in ("rests_muscles", "primary_muscles", "secondary_muscles", "equipment"):
        given[name] = tuple(str(value) for value in given[name])
    for name, value in given.items():
        if hasattr(value, "value"):
            given[name] = value.value
    given["phase_words"] = None if words is None else PhaseWords(**words.model_dump())
    return ExerciseFacts(**given)


def card_facts(
    *blocks: dict[str, Any],
    unit: LoadUnit = "kg",
    references: Mapping[str, Mapping[Any, ReferenceLoad]] | None = None,
    exercises: dict[str, ExerciseFacts] | None = None,
    **changes: Any,
) -> CardFacts:
    """The facts of a session written out for a client."""
    written = decode_session({"title": "Lower A", "blocks": list(blocks)})
    known = catalogue() if exercises is None else catalogue() | exercises
    facts = {key: known[key] for key in session_exercises(written)}
    found: References = references or {}
    prescribed = session_snapshot(written, facts, found, unit=unit).prescribed
    given: dict[str, Any] = {
        "planned_session_id": PLANNED_ID,
        "business_name": "Northfield Strength",
        "client_id": CLIENT_ID,
        "client_name": "Anna Lind",
        "unit": unit,
        "title": "Lower A",
        "week_number": 3,
        "day_number": 1,
        "deload": False,
        "state": "planned",
        "local_date": date(2031, 3, 10),
        "window_start": date(2031, 3, 10),
        "window_end": date(2031, 3, 10),
        "row_version": 4,
        "prescribed": prescribed,
        "session": snapshot_session(prescribed),
        "exercises": facts,
    }
    return CardFacts(**(given | changes))


def card(*blocks: dict[str, Any], **options: Any) -> SessionCard:
    """The card of a session."""
    return session_card(card_facts(*blocks, **options))


def straight(*groups: dict[str, Any], exercise: str = "back-squat", key: str = "A1", **slot: Any) -> dict[str, Any]:
    """A block of one exercise."""
    return {
        "kind": "straight",
        "label": key[0],
        "slots": [{"slot_key": key, "exercise": exercise, "sets": list(groups)} | slot],
    }


def kilograms(load: str) -> dict[str, Any]:
    return {"kind": "absolute", "load_kg": load}


def full_session() -> list[dict[str, Any]]:
    """A session that has something of nearly everything."""
    return [
        straight(
            {"count": 2, "kind": "warm_up", "reps_low": 5, "load": kilograms("40")},
            {"count": 1, "kind": "top", "reps_low": 3, "tempo": "31X1", "rpe": 8, "load": kilograms("102.5")},
            {"count": 3, "reps_low": 5, "tempo": "20X1", "load": {"kind": "relative_to_top", "pct": "-10"}},
            goal="strength",
            rest_s=180,
            notes="Brace before you unrack.\nKnees follow the toes.",
        ),
        {
            "kind": "paired",
            "label": "B",
            "slots": [
                {
                    "slot_key": "B1",
                    "exercise": "bench-press",
                    "goal": "size",
                    "rest_s": 75,
                    "sets": [
                        {
                            "count": 4,
                            "reps_low": 6,
                            "reps_high": 8,
                            "tempo": "41X1",
                            "in_reserve": "2",
                            "load": {"kind": "percent", "of": "training_max", "pct": "75"},
                        }
                    ],
                },
                {
                    "slot_key": "B2",
                    "exercise": "pull-up",
                    "goal": "size",
                    "rest_s": 75,
                    "sets": [{"count": 4, "reps_low": 6, "tempo": "31X2", "rpe": "8.5", "load": kilograms("10")}],
                },
            ],
        },
        {
            "kind": "circuit",
            "label": "C",
            "rounds": 3,
            "slots": [
                {
                    "slot_key": "C1",
                    "exercise": "split-squat",
                    "per_side": True,
                    "rest_s": 15,
                    "sets": [{"reps_low": 8, "load": kilograms("16")}],
                },
                {"slot_key": "C2", "exercise": "plank", "rest_s": 15, "sets": [{"duration_s": 40}]},
                {"slot_key": "C3", "exercise": "farmers-carry", "sets": [{"distance_m": 30, "load": kilograms("24")}]},
            ],
        },
        {
            "kind": "interval",
            "label": "D",
            "rounds": 8,
            "work_s": 40,
            "off_s": 20,
            "slots": [{"slot_key": "D1", "exercise": "rowing-machine", "sets": []}],
        },
    ]
