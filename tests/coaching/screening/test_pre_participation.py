from itertools import product

import pytest

from coaching.screening.pre_participation import INTENSITIES, ScreeningAnswerError, recommendation

RANK = {"not_needed": 0, "recommended": 1, "stop_and_seek": 2}


@pytest.mark.parametrize(
    ("active", "disease", "symptoms", "intensity"),
    list(product((True, False, None), (True, False, None), (True, False, None), (*INTENSITIES, None))),
)
def test_an_unknown_answer_is_never_read_more_lightly_than_a_known_one(active, disease, symptoms, intensity):
    def readings(answer, known):
        return known if answer is None else (answer,)

    told = recommendation(active=active, disease=disease, symptoms=symptoms, intensity=intensity)
    known = product(
        readings(active, (True, False)),
        readings(disease, (True, False)),
        readings(symptoms, (True, False)),
        readings(intensity, INTENSITIES),
    )
    worst = max(RANK[recommendation(active=a, disease=d, symptoms=s, intensity=i).standing] for a, d, s, i in known)
    assert RANK[told.standing] == worst


def test_nothing_known_means_stop_and_says_what_was_not_known():
    told = recommendation(active=None, disease=None, symptoms=None, intensity=None)
    assert told.stop
    assert told.see_clinician
    assert told.read_cautiously == ("active", "disease", "symptoms", "intensity")
    assert "Not known and read as the more cautious answer: active, disease, symptoms, intensity." in told.sentence


def test_symptoms_in_someone_of_unknown_activity_mean_stop():
    assert recommendation(active=None, disease=False, symptoms=True, intensity="light_to_moderate").stop


def test_someone_who_does_not_train_is_sent_to_a_clinician_but_has_nothing_to_stop():
    told = recommendation(active=False, disease=False, symptoms=True, intensity="light_to_moderate")
    assert told.see_clinician
    assert not told.stop


def test_every_recommendation_says_that_it_clears_nobody():
    told = recommendation(active=True, disease=False, symptoms=False, intensity="vigorous")
    assert "not a medical clearance" in told.caution
    assert "47:2473" in told.source


@pytest.mark.parametrize("wrong", [{"active": "yes"}, {"disease": 1}, {"symptoms": "no"}, {"intensity": "moderate"}])
def test_an_answer_that_the_rule_does_not_know_is_refused(wrong):
    answers = {"active": True, "disease": False, "symptoms": False, "intensity": "vigorous"} | wrong
    with pytest.raises(ScreeningAnswerError, match=next(iter(wrong))):
        recommendation(**answers)
