"""Time under tension performed, and tempos kept or not: worked by hand from the definitions.

Time under tension is repetitions times the sum of the four phases (sources: notation and sums as in Wilk et al. 2018
J Hum Kinet; values computed by hand). The tolerance, the larger of 0.5 s and 25 %, is common practice, no source.
"""

from decimal import Decimal

import pytest

from logs.analysis.performed_tempo import PHASES, PerformedSet, judge_tempo, tempo_tolerance_s
from logs.analysis.time_under_tension import set_tension
from programs.prescription.tempo import parse_tempo

# Tempo, repetitions, seconds performed by phase; set meant (X = 1), meant at least (X = 0), performed.
SETS = [
    ("4010", 8, ("4", "0", "1", "0"), ("40", "40", "40")),
    ("31X1", 5, ("3", "1", "0.6", "1"), ("30", "25", "28.0")),
    ("6040", 6, ("5", "0", "3", "0"), ("60", "60", "48")),
    ("30X0", 6, ("3", "0", "0.5", "0"), ("24", "18", "21.0")),
]


@pytest.mark.parametrize(("text", "reps", "seconds", "expected"), SETS)
def test_time_under_tension_performed_stands_beside_the_time_meant(text, reps, seconds, expected):
    one = PerformedSet(
        tempo=parse_tempo(text), reps=reps, phase_s=dict(zip(PHASES, map(Decimal, seconds), strict=True))
    )
    tension = set_tension(one, judge_tempo(one), None)
    found = (tension.meant_s, tension.meant_least_s, tension.performed_s)
    assert found == tuple(map(Decimal, expected))


# Common practice, no source.
@pytest.mark.parametrize(
    ("asked_s", "tolerance_s"), [(1, "0.5"), (2, "0.5"), (3, "0.75"), (4, "1.00"), (6, "1.50"), (10, "2.50")]
)
def test_the_tolerance_is_the_larger_of_half_a_second_and_a_quarter(asked_s, tolerance_s):
    assert tempo_tolerance_s(asked_s) == Decimal(tolerance_s)
