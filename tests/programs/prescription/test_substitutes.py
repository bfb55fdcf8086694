"""What can stand in for an exercise, for whom, why, and what is lost."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from programs.prescription import constants
from programs.prescription.client_fit import ClientLimits, exercise_warnings
from programs.prescription.exercise_closeness import closeness, closest, muscles_ratio
from programs.prescription.substitutes import SubstituteFinder, rank_substitutes
from tests.programs.prescription.cast import BACK_SQUAT, BENCH_PRESS, CURL, PLANK, ROWER, SPLIT_SQUAT
from tests.programs.prescription.catalogue_cast import catalogue

HOME = ClientLimits(equipment=("dumbbells", "band", "adjustable_bench"))


def keys(exercise: str, limits: ClientLimits = HOME) -> list[str]:
    everything = catalogue()
    return [found.exercise for found in rank_substitutes(everything[exercise], everything.values(), limits)]


def test_muscles_are_compared_by_the_cosine_of_their_fractions() -> None:
    # Squat (1, 1, 0.5) against split squat (1, 0.5, 0): 1.5 / sqrt(2.25 * 1.25) = 0.8944.
    assert muscles_ratio(BACK_SQUAT, SPLIT_SQUAT) == Decimal("0.8944")
    assert muscles_ratio(BACK_SQUAT, BACK_SQUAT) == 1
    assert muscles_ratio(BACK_SQUAT, CURL) == 0
    assert muscles_ratio(ROWER, CURL) == 0


def test_the_weights_of_closeness_make_one() -> None:
    weights = [value for name, value in vars(constants).items() if name.startswith("SUBSTITUTE_") and "WEIGHT" in name]
    assert sum(weights) == 1


@pytest.mark.parametrize(
    ("change", "less"),
    [
        ({"pattern": "lunge"}, "0.175"),
        ({"pattern": "hinge"}, "0.35"),
        ({"starts_at": "lengthened"}, "0.05"),
        ({"restful_end": "none"}, "0.05"),
        ({"laterality": "unilateral"}, "0.08"),
        ({"loading": "dumbbell_pair"}, "0.06"),
        ({"loading": "stack"}, "0.09"),
        ({"loading": "bodyweight"}, "0.12"),
    ],
)
def test_each_thing_that_differs_costs_its_weight(change: dict[str, Any], less: str) -> None:
    twin = replace(BACK_SQUAT, key="other-squat", **change)
    found = closeness(BACK_SQUAT, twin)
    assert found is not None
    assert found.closeness_ratio == 1 - Decimal(less)


def test_what_is_counted_otherwise_or_works_other_muscles_cannot_stand_in() -> None:
    assert closeness(BACK_SQUAT, PLANK) is None
    assert closeness(BACK_SQUAT, BENCH_PRESS) is None
    held = replace(PLANK, key="side-plank", primary_muscles=("obliques",))
    assert closeness(PLANK, held) is None


def test_conditioning_machines_stand_in_for_each_other_whatever_they_are_counted_in() -> None:
    bike = replace(ROWER, key="bike", measure="calories")
    assert closeness(ROWER, bike) is not None
    assert closeness(ROWER, replace(bike, loading="none")) is None


def test_a_garage_with_dumbbells_gets_dumbbell_lifts() -> None:
    assert keys("back-squat")[0] == "dumbbell-squat"
    assert keys("bench-press")[0] == "dumbbell-bench-press"
    assert keys("romanian-deadlift")[0] == "dumbbell-romanian-deadlift"
    assert keys("barbell-curl")[0] == "dumbbell-curl"


def test_without_any_weights_a_press_becomes_the_push_up_that_moves_more_of_the_body() -> None:
    found = keys("bench-press", ClientLimits(equipment=()))
    assert found.index("push-up") < found.index("kneeling-push-up")


def test_of_bodyweight_lifts_equally_close_the_one_that_moves_as_much_of_the_body_comes_first() -> None:
    half = replace(BENCH_PRESS, key="a-half", loading="bodyweight", bodyweight_share=Decimal("0.5"))
    most = replace(half, key="b-most", bodyweight_share=Decimal("0.8"))
    assert [close.exercise.key for close in closest(BENCH_PRESS, [half, most])] == ["b-most", "a-half"]
    light = replace(half, key="light", bodyweight_share=Decimal("0.45"))
    assert [close.exercise.key for close in closest(light, [most, half])] == ["a-half", "b-most"]


def test_an_exercise_that_fits_comes_first_itself() -> None:
    (first, *_others) = rank_substitutes(catalogue()["dumbbell-squat"], catalogue().values(), HOME)
    assert (first.exercise, first.closeness_ratio, first.lost) == ("dumbbell-squat", Decimal(1), ())
    assert first.reasons == ("Dumbbell squat itself fits.",)


def test_an_avoided_pattern_leads_to_another_that_works_the_same_muscles() -> None:
    found = keys("back-squat", ClientLimits(avoided_movements=("squat",)))
    assert found
    assert not {key for key in found if catalogue()[key].pattern == "squat"}


def test_a_sore_shoulder_stops_a_press_and_never_a_squat() -> None:
    sore = ClientLimits(avoided_regions=("shoulder:left",))
    assert [warning.code for warning in exercise_warnings(BENCH_PRESS, sore)] == ["avoided_movement"]
    assert list(exercise_warnings(BACK_SQUAT, sore)) == []
    assert "horizontal_push" not in {catalogue()[key].pattern for key in keys("bench-press", sore)}


def test_a_region_that_nothing_is_known_of_bars_nothing() -> None:
    assert list(exercise_warnings(BENCH_PRESS, ClientLimits(avoided_regions=("left_eyebrow",)))) == []


def test_too_complex_is_not_proposed() -> None:
    found = keys("power-clean", ClientLimits(max_complexity=1))
    assert all(catalogue()[key].complexity == 1 for key in found)


def test_reasons_and_losses_are_sentences() -> None:
    (first, *_others) = rank_substitutes(catalogue()["back-squat"], catalogue().values(), HOME)
    assert first.reasons == (
        "The same movement pattern: squat.",
        "Works quadriceps and glutes first, too; the muscles are 91 % alike.",
        "Starts and rests at the same ends, so that the tempo reads the same.",
        "As before, both sides work at once.",
        "Needs dumbbells, which the client has.",
    )
    assert first.lost == (
        "Not worked any more: hamstrings.",
        "Loaded with two dumbbells in place of a bar.",
        "Loads of Back squat do not carry over.",
    )


def test_a_one_sided_stand_in_says_that_it_takes_longer() -> None:
    everything = catalogue()
    lost = [
        sentence
        for found in rank_substitutes(everything["back-squat"], everything.values(), HOME)
        if everything[found.exercise].laterality == "unilateral"
        for sentence in found.lost
    ]
    assert "Before, both sides work at once; now each side takes its own set; the session gets longer." in lost


def test_conflicts_propose_a_different_exercise_for_each() -> None:
    everything = catalogue()
    finder = SubstituteFinder(list(everything.values()))
    used = [everything[key] for key in ("back-squat", "front-squat", "dumbbell-squat", "push-up")]
    conflicts = finder.conflicts(used, HOME)
    assert [conflict.exercise for conflict in conflicts] == ["back-squat", "front-squat"]
    proposed = [conflict.substitute for conflict in conflicts]
    assert None not in proposed
    assert len({*proposed, "dumbbell-squat", "push-up"}) == 4
    assert conflicts[0].codes == ("missing_equipment",)
    assert conflicts[0].reason == "Back squat needs barbell, plates, rack, which the client does not have."


def test_where_nothing_else_fits_what_the_program_uses_already_is_proposed() -> None:
    finder = SubstituteFinder([BACK_SQUAT, replace(BACK_SQUAT, key="air-squat", name="Air squat")])
    used = [replace(BACK_SQUAT, complexity=3), finder.candidates[1]]
    (conflict,) = finder.conflicts(used, ClientLimits(max_complexity=2, avoided_movements=("back-squat",)))
    assert conflict.substitute == "air-squat"


def test_a_conflict_without_a_way_out_says_so() -> None:
    finder = SubstituteFinder([BENCH_PRESS])
    (conflict,) = finder.conflicts([BENCH_PRESS], ClientLimits(avoided_movements=("horizontal_push",)))
    assert (conflict.substitute, conflict.reasons) == (None, ())
    assert "Nothing in the catalogue" in conflict.lost[0]


def test_almost_every_exercise_of_the_catalogue_has_a_stand_in() -> None:
    everything = catalogue()
    alone = [key for key, facts in everything.items() if len(closest(facts, everything.values())) < 2]
    assert len(alone) <= 6, alone
