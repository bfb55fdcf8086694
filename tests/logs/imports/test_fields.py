"""The bounds of imported cells are those of the log intake."""

import pytest
from pydantic import BaseModel

from logs.api.items import CheckInItem, SessionLogItem, SetLogItem
from logs.imports.fields import FIELDS
from logs.imports.words import KIND_WORDS, SIDE_WORDS
from programs.prescription.vocabulary import SET_KINDS

ITEMS: dict[str, type[BaseModel]] = {"session": SessionLogItem, "set": SetLogItem, "check_in": CheckInItem}
NAMES = {
    "session_minutes": "duration_min",
    "session_notes": "notes",
    "load": "load_kg",
    "duration": "duration_s",
    "distance": "distance_m",
    "calories": "calories_kcal",
    "bodyweight": "bodyweight_kg",
}
BOUNDED = ["session_minutes", "session_rpe", "set_number", "reps", "load", "rpe", "in_reserve", "duration", "distance",
           "calories", "rounds", "bodyweight"]  # fmt: skip


def schema_of(name):
    field = FIELDS[name]
    schema = ITEMS[field.part].model_json_schema()["properties"][NAMES.get(name, name)]
    return field, next(one for one in schema.get("anyOf", [schema]) if one.get("type") != "null")


@pytest.mark.parametrize("name", BOUNDED)
def test_numbers_go_as_far_as_the_intake_takes_them(name):
    field, schema = schema_of(name)
    assert schema.get("minimum", schema.get("exclusiveMinimum")) == field.minimum
    assert field.maximum == schema.get("exclusiveMaximum" if field.open_ended else "maximum")


@pytest.mark.parametrize("name", ["notes", "session_notes", "tempo", "machine"])
def test_texts_are_as_long_as_the_intake_takes_them(name):
    field, schema = schema_of(name)
    assert schema["maxLength"] == field.maximum


def test_words_for_kinds_and_sides_are_the_intakes_own():
    assert set(KIND_WORDS.values()) == set(SET_KINDS)
    assert set(SIDE_WORDS.values()) == {"left", "right", "both"}
