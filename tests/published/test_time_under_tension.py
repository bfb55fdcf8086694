"""Time under tension and the two stimulus readings."""

import pytest

from programs.prescription.set_work import unknown_exercise
from programs.prescription.slot_work import slot_work
from programs.prescription.stimulus import load_zone, time_band
from programs.prescription.structure import SetGroup, Slot
from programs.prescription.tempo import parse_tempo
from programs.prescription.timeline import TimelinePolicy
from tests.programs.prescription.cast import BACK_SQUAT

# Computed by hand from the definition: tempo, repetitions, repetition (X = 0, X = 1), set (X = 0, X = 1).
SETS = [
    ("4010", 8, (5, 5), (40, 40)),
    ("31X1", 5, (5, 6), (25, 30)),
    ("6040", 6, (10, 10), (60, 60)),
    ("30X0", 6, (3, 4), (18, 24)),
]


@pytest.mark.parametrize(("text", "reps", "repetition_s", "set_s"), SETS)
def test_time_under_tension_has_a_lower_bound_without_the_explosive_second(text, reps, repetition_s, set_s):
    tempo = parse_tempo(text)
    assert (tempo.repetition_s(explosive_s=0), tempo.repetition_s()) == repetition_s
    slot = Slot(slot_key="A1", exercise="x", sets=(SetGroup(reps_low=reps, tempo=tempo),))
    policy = TimelinePolicy()
    (work,) = slot_work(slot, unknown_exercise("x", policy), policy)
    assert (work.tut_least_s, work.tut_low_s, work.tut_high_s) == (set_s[0], set_s[1], set_s[1])


def test_four_sets_of_eight_at_4010_are_160_s():
    # Computed by hand: 4 sets x 8 at 4010.
    assert 4 * 8 * parse_tempo("4010").repetition_s() == 160


@pytest.mark.parametrize("text", ["2/0/2/0", "5/0/3/0", "6/0/4/0"])
def test_the_slashed_form_of_the_trials_is_read(text):
    # Wilk et al. 2018 J Hum Kinet (PMC6006544).
    assert str(parse_tempo(text)) == text.replace("/", "")


@pytest.mark.parametrize(
    ("text", "reps", "seconds", "trains"), [("20X1", 3, 12, ("strength",)), ("41X1", 10, 70, ("size",))]
)
def test_the_squats_of_common_practice_are_read_by_their_time(text, reps, seconds, trains):
    # Common practice, no source.
    slot = Slot(slot_key="A1", exercise="back-squat", sets=(SetGroup(reps_low=reps, tempo=parse_tempo(text)),))
    (work,) = slot_work(slot, BACK_SQUAT, TimelinePolicy())
    assert work.tut_high_s == seconds
    assert work.stimulus.by_time.trains == trains


@pytest.mark.parametrize(
    ("seconds", "trains"),
    [
        (20, ("strength",)),
        (21, ("strength", "size")),
        (40, ("strength", "size")),
        (41, ("size",)),
        (70, ("size",)),
        (71, ("endurance",)),
    ],
)
def test_the_bands_of_time_include_their_upper_ends(seconds, trains):
    # Trade heuristic, no study.
    assert time_band(seconds) == trains


@pytest.mark.parametrize(
    ("reps", "pct", "zones"),
    [
        (5, 85, ("strength", "power")),
        (5, 84, ("power",)),
        (6, 84, ("size",)),
        (6, None, ("strength", "size")),
        (8, 67, ("size",)),
        (8, 86, ()),
        (12, None, ("size", "endurance")),
        (15, 67, ("endurance",)),
        (15, 68, ()),
    ],
)
def test_the_zones_of_load_with_repetitions_are_the_published_ones(reps, pct, zones):
    # NSCA goal table: strength 85 % and over, 6 or fewer; power 80-90 %, 1-2, or 75-85 %, 3-5; hypertrophy 67-85 %,
    # 6-12; endurance 67 % or less, 12 up.
    assert load_zone(reps, pct) == zones
