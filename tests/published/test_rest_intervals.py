"""Rests between sets by goal, as published, against the rests that are assumed and the least that are asked for.

NSCA goal table (read in agreeing pages): strength and power 2-5 min, size 30-90 s, endurance 30 s or less.
ACSM 2009 Med Sci Sports Exerc 41:687-708: 3-5 min for heavy work of 1-6 RM (read); 1-2 min otherwise (from memory).
de Salles et al. 2009 Sports Med 39:765 (from memory): strength 3-5 min, size 1-2 min, endurance 20-60 s.
Grgic et al. 2018 Sports Med 48:137-151 (abstract read): trained people need over 2 min for the most strength, the
untrained do well with 60-120 s. Singer et al. 2024 Front Sports Act Living 6:1429789 (abstract read): size gains from
over 60 s are a little greater; that nothing more is seen beyond about 90 s is from memory.
"""

import pytest

from programs.prescription.constants import LEAST_REST_NOVICE_S
from programs.prescription.prescribed_loads import PercentLoad
from programs.prescription.rest_findings import least_rest
from programs.prescription.structure import SetGroup, Slot
from programs.prescription.timeline_policy import TimelinePolicy
from tests.programs.prescription.cast import EXERCISES

NSCA_REST_S = [("strength", 120, 300), ("power", 120, 300), ("size", 30, 90), ("endurance", 0, 30)]
ACSM_HEAVY_S = (180, 300)
DE_SALLES_REST_S = [("strength", 180, 300), ("size", 60, 120), ("endurance", 20, 60)]


@pytest.mark.parametrize(("goal", "low_s", "high_s"), NSCA_REST_S + DE_SALLES_REST_S)
def test_the_rest_that_is_assumed_lies_in_the_published_range(goal, low_s, high_s):
    assert low_s <= TimelinePolicy().assumed_rest_s("straight", goal) <= high_s


def test_the_rest_assumed_for_heavy_work_is_that_of_the_position_stand():
    for goal in ("strength", "power"):
        assert ACSM_HEAVY_S[0] <= TimelinePolicy().assumed_rest_s("straight", goal) <= ACSM_HEAVY_S[1]


def least_s(goal, exercise="back-squat", *, novice=False, **group):
    slot = Slot(slot_key="A1", exercise=exercise, goal=goal, sets=(SetGroup(count=3, **group),))
    return least_rest(slot, EXERCISES[exercise], novice=novice).least_s


@pytest.mark.parametrize(
    "group", [{"reps_low": 1}, {"reps_low": 3}, {"reps_low": 5, "load": PercentLoad(of="tested", pct=90)}]
)
def test_maximal_work_is_asked_for_three_minutes(group):
    # ACSM 2009: 3-5 min at 1-6 RM; its lower end is asked for where the work is heaviest.
    assert least_s("strength", **group) == 180


@pytest.mark.parametrize("reps", [4, 6])
def test_heavy_work_is_asked_for_more_than_the_two_minutes_that_the_trained_need(reps):
    # Between Grgic 2018 (over 2 min) and ACSM 2009 (3 min).
    assert 120 < least_s("strength", reps_low=reps) <= 180


def test_no_strength_work_of_the_trained_is_let_go_under_two_minutes():
    # Grgic 2018.
    assert least_s("strength", reps_low=10) == 120


def test_novices_are_asked_for_what_was_enough_for_the_untrained():
    # Grgic 2018: 60-120 s.
    assert 60 <= least_s("strength", reps_low=3, novice=True) == LEAST_REST_NOVICE_S <= 120


def test_size_work_is_asked_for_the_upper_end_of_the_older_table_and_no_more():
    # NSCA 30-90 s; Singer 2024: small gains beyond 60 s, none seen beyond about 90 s.
    assert least_s("size", reps_low=10) == 90
    assert least_s("size", "curl", reps_low=10) == 60


def test_endurance_work_is_asked_for_the_least_that_was_published():
    # de Salles 2009 (from memory): 20-60 s.
    assert least_s("endurance", reps_low=15) == 20
