"""Names matched against a catalogue: exactly, through a slip, or answered with candidates; never guessed."""

from decimal import Decimal

import pytest

from programs.catalogue.entries import load_entries
from programs.prescription.names import Catalogue, CatalogueName
from programs.prescription.notation import parse_session, print_session
from programs.prescription.prescribed_loads import AbsoluteLoad
from tests.programs.prescription.cast import EXERCISES

CATALOGUE = Catalogue.of(
    [
        CatalogueName(key="bench-press", name="Bench press", aliases=("BB bench", "flat bench"), load_basis="total"),
        CatalogueName(key="incline-press", name="Incline press"),
        CatalogueName(key="decline-press", name="Decline press"),
        CatalogueName(key="pull-up", name="Pull-up", aliases=("chin over bar",), load_basis="added"),
        CatalogueName(key="split-squat", name="Split squat", load_basis="each_hand"),
        CatalogueName(key="hip-adduction", name="Hip adduction"),
        CatalogueName(key="dumbbell-row", name="Dumbbell row", aliases=("one-arm row",)),
        CatalogueName(key="front-rack-carry", name="Front rack carry", aliases=("carry",)),
        CatalogueName(key="suitcase-carry", name="Suitcase carry", aliases=("carry",)),
    ]
)


def read(name, written="3 x 5"):
    result = parse_session(f"A1. {name} {written}", CATALOGUE)
    return result.session.slots[0], result.faults


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("bench press", "bench-press"),
        ("BENCH-PRESS", "bench-press"),
        ("Benchpress", "bench-press"),
        ("Bench presses", None),
        ("Flat bench", "bench-press"),
        ("barbell bench", "bench-press"),
        ("pullups", "pull-up"),
        ("Pull ups", "pull-up"),
        ("DB row", "dumbbell-row"),
        ("Row, dumbbell", None),
        ("row dumbbell", "dumbbell-row"),
        ("{bench-press}", "bench-press"),
    ],
)
def test_a_known_name_is_found_whatever_its_spelling(written, key):
    slot, faults = read(written)
    if key is None:
        assert faults
    else:
        assert (slot.exercise, faults) == (key, ())


def test_one_slip_in_a_long_word_is_read_through_and_said():
    slot, faults = read("Inclin press")
    assert slot.exercise == "incline-press"
    assert [(fault.severity, fault.code, fault.column) for fault in faults] == [("note", "name_read_as", 5)]


@pytest.mark.parametrize("name", ["Press", "Hip abduction", "Bench", "Cline press", "Carry", "Push-up"])
def test_a_doubtful_name_is_answered_with_candidates_and_not_guessed(name):
    slot, (fault, *_) = read(name)
    assert (fault.severity, fault.code, fault.column) == ("error", "doubtful_exercise", 5)
    assert 1 <= len(fault.candidates) <= 5
    assert slot.exercise not in CATALOGUE.entries
    assert all(candidate.name in fault.message for candidate in fault.candidates)
    likeness = [candidate.likeness_pct for candidate in fault.candidates]
    assert likeness == sorted(likeness, reverse=True)


def test_a_name_that_two_exercises_share_gives_both():
    _, (fault, *_) = read("Carry")
    assert {candidate.key for candidate in fault.candidates} == {"front-rack-carry", "suitcase-carry"}


def test_a_name_like_no_other_is_unknown():
    _, faults = read("Zzyzx")
    assert [(fault.code, fault.candidates) for fault in faults] == [("unknown_exercise", ())]


def test_the_rest_of_a_line_with_a_doubtful_name_is_read():
    slot, _ = read("Press", "3 x 5, rest 90s")
    assert (slot.rest_s, slot.set_count) == (90, 3)


@pytest.mark.parametrize(
    ("name", "load_kg", "codes"),
    [("Split squat", "24", []), ("Bench press", "48", ["both_weights"]), ("Pull-up", "48", ["both_weights"])],
)
def test_two_weights_are_said_in_the_exercises_own_basis(name, load_kg, codes):
    slot, faults = read(name, "3 x 5, 2 x 24 kg")
    assert slot.sets[0].load == AbsoluteLoad(value=Decimal(load_kg))
    assert [fault.code for fault in faults] == codes


def test_exercises_of_any_kind_make_a_catalogue():
    for given in (EXERCISES, EXERCISES.values(), Catalogue.of(EXERCISES)):
        result = parse_session("A. Bench press 3 x 5", given)
        assert (result.session.slots[0].exercise, result.faults) == ("bench-press", ())


def test_every_shared_exercise_is_found_by_every_name_and_printed_so_that_it_is_found_again():
    entries = load_entries()
    catalogue = Catalogue.of(entries)
    names = {entry.key: entry.name for entry in entries}
    lost = []
    for entry in entries:
        for name in (entry.key, entry.name, *entry.aliases):
            result = parse_session(f'A1. "{name}" 3 x 5', catalogue)
            printed = print_session(result.session, names)
            again = parse_session(printed, catalogue)
            if result.session.slots[0].exercise != entry.key or again.session != result.session or result.faults:
                lost.append((entry.key, name, printed, result.faults))
    assert lost == []
