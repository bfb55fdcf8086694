"""An exercise that does not make sense is refused, each fault with its field and a sentence."""

from typing import Any

import pytest

from programs.catalogue.entries import CatalogueError, load_entries, read_entry

BY_KEY = {entry.key: entry for entry in load_entries()}


def row(of: str, /, **changes: Any) -> dict[str, Any]:
    return {**BY_KEY[of].model_dump(mode="json"), **changes}


def refusal(of: str, /, **changes: Any) -> CatalogueError:
    with pytest.raises(CatalogueError) as caught:
        read_entry(row(of, **changes))
    for fault in caught.value.faults:
        assert fault.message.endswith("."), fault
        assert " " in fault.message, fault
    return caught.value


def test_an_unknown_field_is_refused_by_name() -> None:
    (fault,) = refusal("bench-press", colour="red").faults
    assert fault.field == "colour"
    assert fault.message == "'colour' is not a field of an exercise; remove it."


def test_a_missing_field_is_refused_by_name() -> None:
    incomplete = row("bench-press")
    del incomplete["pattern"]
    with pytest.raises(CatalogueError, match=r"'pattern' is missing; give it."):
        read_entry(incomplete)


def test_an_unknown_word_is_refused_with_the_words_that_are_known() -> None:
    (fault,) = refusal("bench-press", measure="minutes").faults
    assert "'minutes' is not a known value of 'measure'" in fault.message
    assert "'seconds'" in fault.message


def test_an_unknown_muscle_in_a_list_is_refused_where_it_stands() -> None:
    (fault,) = refusal("bench-press", secondary_muscles=["wing"]).faults[:1]
    assert fault.field == "secondary_muscles.0"
    assert "'wing'" in fault.message


def test_a_word_where_a_list_belongs_is_refused() -> None:
    (fault,) = refusal("bench-press", equipment="barbell").faults
    assert fault.message == "'equipment' takes a list, not 'barbell'; put it in square brackets."


def test_every_fault_of_a_row_is_told_at_once() -> None:
    fields = {fault.field for fault in refusal("bench-press", key="Bench Press!", complexity=5, name="").faults}
    assert fields == {"key", "complexity", "name"}


def test_a_missing_phase_word_is_refused_inside_the_phase_words() -> None:
    words = {"eccentric": "down", "lengthened": "low", "concentric": "up"}
    (fault,) = refusal("bench-press", phase_words=words).faults
    assert fault.field == "phase_words.shortened"


@pytest.mark.parametrize(
    ("key", "changes", "field"),
    [
        ("bench-press", {"starts_at": None}, "starts_at"),
        ("bench-press", {"phase_words": None}, "phase_words"),
        ("plank", {"starts_at": "shortened"}, "starts_at"),
        (
            "plank",
            {"restful_end": "shortened", "rests_muscles": ["abdominals"]},
            "restful_end",
        ),
        ("bench-press", {"rests_muscles": []}, "rests_muscles"),
        ("bench-press", {"rests_muscles": ["calves"]}, "rests_muscles"),
        ("bench-press", {"restful_end": "none"}, "rests_muscles"),
        (
            "bench-press",
            {"secondary_muscles": ["chest", "triceps", "front_delts"]},
            "secondary_muscles",
        ),
        ("bench-press", {"equipment": ["barbell", "barbell"]}, "equipment"),
        ("bench-press", {"load_basis": "each_hand"}, "load_basis"),
        ("bench-press", {"bodyweight_share": "0.5"}, "bodyweight_share"),
        ("push-up", {"bodyweight_share": "0"}, "bodyweight_share"),
        ("push-up", {"bodyweight_share": "1.2"}, "bodyweight_share"),
        ("bench-press", {"repetition_s": 0}, "repetition_s"),
        ("leg-extension", {"station": "floor"}, "station"),
        ("back-squat", {"equipment": ["plates", "rack"]}, "equipment"),
        ("dumbbell-squat", {"equipment": []}, "equipment"),
        ("goblet-squat", {"equipment": ["plates"]}, "equipment"),
        ("leg-extension", {"equipment": []}, "equipment"),
        ("bench-press", {"aliases": ["Bench press"]}, "aliases"),
        ("bench-press", {"aliases": ["bench", "Bench"]}, "aliases"),
        (
            "bench-press",
            {
                "phase_words": {
                    "eccentric": "go",
                    "lengthened": "low",
                    "concentric": "Go",
                    "shortened": "top",
                }
            },
            "phase_words",
        ),
    ],
)
def test_fields_that_contradict_each_other_are_refused(key: str, changes: dict[str, Any], field: str) -> None:
    assert [fault.field for fault in refusal(key, **changes).faults] == [field]


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"primary_muscles": []}, "'primary_muscles' is empty; list at least 1."),
        ({"name": ""}, "'' is too short for 'name'; write at least 2 characters."),
        ({"name": "x" * 81}, f"{'x' * 81!r} is too long for 'name'; write at most 80 characters."),
    ],
)
def test_a_length_is_told_in_a_coachs_words(changes: dict[str, Any], message: str) -> None:
    assert message in [fault.message for fault in refusal("bench-press", **changes).faults]


def test_an_entry_cannot_be_changed_after_reading() -> None:
    with pytest.raises(ValueError, match="frozen"):
        BY_KEY["bench-press"].name = "Another"  # type: ignore[misc]
