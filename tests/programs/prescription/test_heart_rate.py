import pytest

from programs.prescription.heart_rate import HeartRateError, NoHeartRateTargets, heart_rate_targets


def targets(**known):
    """What is found for a client."""
    return heart_rate_targets(**known)


@pytest.mark.parametrize("group", ["heart_rate_medicine", "pregnant", "postpartum"])
def test_some_clients_never_get_a_heart_rate(group):
    found = targets(resting_bpm=60, measured_max_bpm=180, age_years=40, care_groups=[group])
    assert isinstance(found, NoHeartRateTargets)
    assert "RPE" in found.instead


def test_other_care_groups_do():
    found = targets(resting_bpm=60, measured_max_bpm=180, care_groups=["over_65"])
    assert found.max_from == "measured"


def test_a_measured_maximum_comes_before_a_prediction_and_has_no_error():
    found = targets(resting_bpm=60, measured_max_bpm=190, age_years=40)
    assert (found.max_bpm, found.max_from, found.error_bpm) == (190, "measured", 0)


def test_a_prediction_carries_its_error():
    found = targets(resting_bpm=60, age_years=40)
    assert (found.max_bpm, found.max_from, found.error_bpm) == (180, "predicted", 10)


@pytest.mark.parametrize(
    ("known", "word"),
    [({"resting_bpm": None, "age_years": 40}, "resting"), ({"resting_bpm": 60}, "maximum")],
)
def test_what_is_not_known_is_said(known, word):
    assert word in targets(**known).reason


@pytest.mark.parametrize(
    "known",
    [
        {"resting_bpm": 60, "measured_max_bpm": 50},
        {"resting_bpm": 60, "measured_max_bpm": 260},
        {"resting_bpm": 10, "measured_max_bpm": 180},
        {"resting_bpm": 60, "age_years": 0},
        {"resting_bpm": 60, "age_years": 150},
    ],
)
def test_figures_that_nobody_has_are_refused(known):
    with pytest.raises(HeartRateError, match="Give"):
        targets(**known)
