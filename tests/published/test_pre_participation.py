"""Riebe et al. 2015, Med Sci Sports Exerc 47:2473-2479, Figure 2.

The table was read in secondary pages that agree (ACSM's Guidelines, 10th edition, chapter 2, and pages that print
it), not in the paper's own figure.
"""

import pytest

from coaching.screening.pre_participation import recommendation

LIGHT, VIGOROUS = "light_to_moderate", "vigorous"

# Regularly active, known disease, signs or symptoms, intensity: clearance recommended, stop.
CASES = [
    ((False, False, False, LIGHT), (False, False)),
    ((False, False, False, VIGOROUS), (False, False)),
    ((False, True, False, LIGHT), (True, False)),
    ((False, True, False, VIGOROUS), (True, False)),
    ((False, False, True, LIGHT), (True, False)),
    ((False, False, True, VIGOROUS), (True, False)),
    ((False, True, True, LIGHT), (True, False)),
    ((False, True, True, VIGOROUS), (True, False)),
    ((True, False, False, LIGHT), (False, False)),
    ((True, False, False, VIGOROUS), (False, False)),
    ((True, True, False, LIGHT), (False, False)),
    ((True, True, False, VIGOROUS), (True, False)),
    ((True, False, True, LIGHT), (True, True)),
    ((True, False, True, VIGOROUS), (True, True)),
    ((True, True, True, LIGHT), (True, True)),
    ((True, True, True, VIGOROUS), (True, True)),
]


@pytest.mark.parametrize(("answers", "expected"), CASES)
def test_each_of_the_sixteen_cases_reads_as_published(answers, expected):
    active, disease, symptoms, intensity = answers
    told = recommendation(active=active, disease=disease, symptoms=symptoms, intensity=intensity)
    assert (told.see_clinician, told.stop) == expected


def test_the_sixteen_cases_are_all_there():
    assert len({answers for answers, _ in CASES}) == 16


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        # "Not needed to start; may progress gradually to vigorous."
        ((False, False, False, VIGOROUS), "progress gradually to vigorous"),
        ((False, True, False, VIGOROUS), "After clearance start light to moderate"),
        # "Within the last 12 months, no change in symptoms."
        ((True, True, False, VIGOROUS), "last 12 months"),
        ((True, True, False, LIGHT), "continue moderate"),
        ((True, False, True, LIGHT), "only after clearance"),
    ],
)
def test_how_to_start_is_said_as_published(answers, words):
    active, disease, symptoms, intensity = answers
    told = recommendation(active=active, disease=disease, symptoms=symptoms, intensity=intensity)
    assert words in told.sentence
