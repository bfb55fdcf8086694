"""Every row of the shared catalogue makes sense to a practitioner."""

from collections import Counter
from decimal import Decimal

import pytest

from programs.catalogue.entries import (
    find_name_faults,
    load_entries,
    read_entry,
)
from programs.catalogue.sense import comparable_name
from programs.catalogue.vocabulary import (
    SHARED_STATIONS,
    Equipment,
    Laterality,
    LoadBasis,
    Loading,
    Measure,
    Muscle,
    Pattern,
    Phase,
    RestfulEnd,
    Station,
)

ENTRIES = load_entries()
BY_KEY = {entry.key: entry for entry in ENTRIES}

# fmt: off
NEEDED_KEYS = (
    "back-squat", "front-squat", "goblet-squat", "split-squat", "rear-foot-elevated-split-squat",
    "walking-lunge", "step-up", "deadlift", "trap-bar-deadlift", "romanian-deadlift",
    "single-leg-romanian-deadlift", "hip-thrust", "kettlebell-swing", "bench-press",
    "incline-dumbbell-press", "dumbbell-bench-press", "push-up", "dip", "overhead-press",
    "seated-dumbbell-press", "landmine-press", "pull-up", "chin-up", "lat-pulldown", "bent-over-row",
    "one-arm-dumbbell-row", "seated-cable-row", "chest-supported-row", "ring-row", "face-pull",
    "lateral-raise", "dumbbell-curl", "barbell-curl", "triceps-pushdown", "lying-triceps-extension",
    "leg-press", "leg-extension", "lying-leg-curl", "standing-calf-raise", "plank", "side-plank",
    "dead-bug", "hollow-hold", "sit-up", "hanging-leg-raise", "pallof-press", "farmers-carry",
    "suitcase-carry", "get-up", "rowing-machine", "stationary-bike", "ski-machine", "treadmill-walk",
    "burpee", "box-jump", "power-clean", "sled-push", "band-pull-apart", "wall-sit", "dead-hang",
)
# fmt: on


def test_the_catalogue_has_at_least_150_exercises_and_every_one_that_the_product_names() -> None:
    assert len(ENTRIES) >= 150
    assert [key for key in NEEDED_KEYS if key not in BY_KEY] == []


def test_no_key_name_or_alias_stands_for_two_exercises() -> None:
    assert find_name_faults(ENTRIES) == ()
    words = Counter(
        word
        for entry in ENTRIES
        for word in {comparable_name(text) for text in (entry.key, entry.name, *entry.aliases)}
    )
    assert [word for word, count in words.items() if count > 1] == []


def test_two_exercises_that_claim_one_alias_are_found_whatever_the_case_and_hyphens() -> None:
    own = BY_KEY["bench-press"].model_copy(update={"key": "own-press", "name": "Own press", "aliases": ("PULL UP",)})
    (fault,) = find_name_faults([*ENTRIES, own])
    assert "'pull-up'" in fault.message
    assert "'own-press'" in fault.message


def test_one_key_given_twice_is_found() -> None:
    again = BY_KEY["deadlift"].model_copy(update={"name": "Another lift", "aliases": ()})
    assert any("'deadlift'" in fault.message for fault in find_name_faults([*ENTRIES, again]))


def test_every_entry_survives_json() -> None:
    for entry in ENTRIES:
        assert read_entry(entry.model_dump(mode="json")) == entry, entry.key


def test_counted_repetitions_have_phases_and_nothing_else_has() -> None:
    for entry in ENTRIES:
        if entry.measure is Measure.REPS:
            assert entry.starts_at is not None, entry.key
            assert entry.phase_words is not None, entry.key
            assert len({comparable_name(word) for word in entry.phase_words.in_written_order()}) == 4, entry.key
            assert set(entry.performing_order) == set(Phase), entry.key
        else:
            assert entry.starts_at is None, entry.key
            assert entry.phase_words is None, entry.key
            assert entry.restful_end is RestfulEnd.NONE, entry.key
            assert entry.performing_order == entry.performed_words == (), entry.key


def test_muscles_that_rest_are_worked_and_rest_only_where_there_is_a_restful_end() -> None:
    for entry in ENTRIES:
        assert set(entry.rests_muscles) <= set(entry.muscles), entry.key
        assert bool(entry.rests_muscles) == (entry.restful_end is not RestfulEnd.NONE), entry.key


def test_muscles_are_named_once() -> None:
    for entry in ENTRIES:
        assert entry.primary_muscles, entry.key
        assert len(set(entry.muscles)) == len(entry.muscles), entry.key


def test_a_load_means_what_the_implement_makes_it_mean() -> None:
    for entry in ENTRIES:
        if entry.loading in {Loading.DUMBBELL_PAIR, Loading.KETTLEBELL_PAIR}:
            assert entry.load_basis is LoadBasis.EACH_HAND, entry.key
        elif entry.loading is Loading.STACK:
            assert entry.load_basis is LoadBasis.STACK_LABEL, entry.key
            assert entry.station not in SHARED_STATIONS, entry.key
        elif entry.loading in {
            Loading.BARBELL,
            Loading.PLATE_MACHINE,
            Loading.SLED,
            Loading.DUMBBELL,
        }:
            assert entry.load_basis is LoadBasis.TOTAL, entry.key
        elif entry.loading is Loading.BODYWEIGHT:
            assert entry.load_basis is LoadBasis.ADDED, entry.key


def test_only_bodyweight_lifts_move_a_share_of_the_body() -> None:
    for entry in ENTRIES:
        lifts_the_body = entry.loading is Loading.BODYWEIGHT and entry.measure is Measure.REPS
        assert (entry.bodyweight_share > 0) == lifts_the_body, entry.key


def test_implements_are_among_the_equipment() -> None:
    for entry in ENTRIES:
        wanted = {
            Loading.DUMBBELL_PAIR: {Equipment.DUMBBELLS},
            Loading.DUMBBELL: {Equipment.DUMBBELL},
            Loading.KETTLEBELL_PAIR: {Equipment.KETTLEBELLS},
            Loading.KETTLEBELL: {Equipment.KETTLEBELL},
            Loading.BARBELL: {Equipment.BARBELL, Equipment.TRAP_BAR, Equipment.CURL_BAR},
            Loading.BAND: {Equipment.BAND, Equipment.MINI_BAND},
            Loading.SLED: {Equipment.SLED},
            Loading.SANDBAG: {Equipment.SANDBAG},
        }.get(entry.loading)
        assert wanted is None or wanted & set(entry.equipment), entry.key
        if entry.station.value.endswith("_machine") or entry.station.value in {
            "pull_up_bar",
            "dip_bars",
            "rings",
        }:
            assert Equipment(entry.station.value) in entry.equipment, entry.key


def test_the_usual_seconds_fit_the_measure() -> None:
    for entry in ENTRIES:
        low, high = {
            Measure.REPS: (Decimal(1), Decimal(30)),
            Measure.SECONDS: (Decimal(1), Decimal(1)),
            Measure.METRES: (Decimal("0.1"), Decimal(3)),
            Measure.CALORIES: (Decimal(2), Decimal(10)),
        }[entry.measure]
        assert low <= entry.repetition_s <= high, entry.key
        assert entry.complexity in {1, 2, 3}, entry.key


def test_every_pattern_and_every_muscle_is_trained_by_some_exercise() -> None:
    assert {entry.pattern for entry in ENTRIES} == set(Pattern)
    assert {muscle for entry in ENTRIES for muscle in entry.primary_muscles} == set(Muscle)


@pytest.mark.parametrize(
    "pattern",
    [
        "squat",
        "lunge",
        "hinge",
        "horizontal_push",
        "vertical_push",
        "horizontal_pull",
        "vertical_pull",
    ],
)
def test_the_main_patterns_have_a_simple_choice_and_several_ways_to_load_it(
    pattern: str,
) -> None:
    family = [entry for entry in ENTRIES if entry.pattern == pattern]
    assert len(family) >= 8
    assert any(entry.complexity == 1 for entry in family)
    assert len({entry.loading for entry in family}) >= 3


def test_each_laterality_measure_loading_and_basis_occurs() -> None:
    assert {entry.laterality for entry in ENTRIES} == set(Laterality)
    assert {entry.measure for entry in ENTRIES} == set(Measure)
    assert {entry.loading for entry in ENTRIES} == set(Loading)
    assert {entry.load_basis for entry in ENTRIES} == set(LoadBasis)
    assert {entry.station for entry in ENTRIES} == set(Station)
    assert {thing for entry in ENTRIES for thing in entry.equipment} == set(Equipment)


@pytest.mark.parametrize(
    ("key", "laterality"),
    [
        ("split-squat", "unilateral"),
        ("single-leg-romanian-deadlift", "unilateral"),
        ("one-arm-dumbbell-row", "unilateral"),
        ("get-up", "unilateral"),
        ("side-plank", "unilateral"),
        ("suitcase-carry", "unilateral"),
        ("walking-lunge", "alternating"),
        ("dead-bug", "alternating"),
        ("back-squat", "bilateral"),
        ("farmers-carry", "bilateral"),
    ],
)
def test_laterality_is_as_the_lift_is_done(key: str, laterality: str) -> None:
    assert BY_KEY[key].laterality == laterality


def test_a_bench_press_is_performed_down_chest_up_locked_out() -> None:
    """Common practice, no source: 41X1 is 4 s down, 1 s on the chest, fast up, 1 s held."""
    bench = BY_KEY["bench-press"]
    assert bench.performing_order == tuple(Phase(p) for p in ("eccentric", "lengthened", "concentric", "shortened"))
    assert bench.performed_words == ("bar down", "on the chest", "bar up", "locked out")


def test_a_pull_up_is_performed_up_top_down_hanging() -> None:
    """Common practice, no source: 31X2 is fast up, 2 s at the top, 3 s down, 1 s hanging."""
    pull_up = BY_KEY["pull-up"]
    assert pull_up.performing_order == tuple(Phase(p) for p in ("concentric", "shortened", "eccentric", "lengthened"))
    assert pull_up.performed_words == (
        "pull up",
        "chin over the bar",
        "lower",
        "hanging, arms long",
    )


@pytest.mark.parametrize(
    ("key", "starts_at", "restful_end"),
    [
        ("back-squat", "shortened", "shortened"),
        ("bench-press", "shortened", "shortened"),
        ("romanian-deadlift", "shortened", "shortened"),
        ("deadlift", "lengthened", "lengthened"),
        ("pull-up", "lengthened", "lengthened"),
        ("overhead-press", "lengthened", "lengthened"),
        ("bent-over-row", "lengthened", "lengthened"),
        ("lateral-raise", "lengthened", "lengthened"),
        ("kettlebell-swing", "lengthened", "none"),
        ("machine-fly", "lengthened", "none"),
    ],
)
def test_repetitions_start_and_rest_where_the_trade_has_them(key: str, starts_at: str, restful_end: str) -> None:
    assert BY_KEY[key].starts_at == starts_at
    assert BY_KEY[key].restful_end == restful_end


def test_hanging_from_the_bar_rests_the_back_and_not_the_grip() -> None:
    rests = BY_KEY["pull-up"].rests_muscles
    assert Muscle.LATS in rests
    assert Muscle.FOREARMS not in rests


def test_a_deadlift_on_the_floor_rests_every_muscle_and_a_romanian_deadlift_never_rests_the_grip() -> None:
    assert set(BY_KEY["deadlift"].rests_muscles) == set(BY_KEY["deadlift"].muscles)
    assert Muscle.FOREARMS not in BY_KEY["romanian-deadlift"].rests_muscles


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("RDL", "romanian-deadlift"),
        ("BSS", "rear-foot-elevated-split-squat"),
        ("DB row", "one-arm-dumbbell-row"),
        ("row", "rowing-machine"),
        ("Turkish get-up", "get-up"),
        ("OHP", "overhead-press"),
        ("pull-ups", "pull-up"),
        ("farmers walk", "farmers-carry"),
    ],
)
def test_what_coaches_write_is_an_alias(written: str, key: str) -> None:
    assert comparable_name(written) in {comparable_name(alias) for alias in BY_KEY[key].aliases}
