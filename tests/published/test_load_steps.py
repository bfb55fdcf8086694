"""Steps of load: the published range of progression, and the increment trap computed from it.

Source: ACSM 2009 Med Sci Sports Exerc 41:687-708, abstract read: a load is raised by 2 to 10 % once the workload is
done for one or two repetitions over the number asked. The trap's percentages are arithmetic. The least rise of 1 % is
ours and is practice; the abstract's is 2 %.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from logs.analysis.load_advice import load_advice
from logs.analysis.load_advice_facts import LoadAdvicePolicy, LoadGrid
from logs.analysis.load_advice_returns import ReturnRule
from logs.analysis.load_advice_steps import rise
from programs.prescription.structure import ExerciseFacts
from tests.logs.analysis.load_advice_slots import done, slot, target

DUMBBELL = ExerciseFacts(key="curl", name="Curl", pattern="elbow_flexion", loading="dumbbell")

TRAP = [
    ("80", "2.5", "3.1", "up"),
    ("20", "2.5", "12.5", "hold"),
    ("10", "2", "20.0", "hold"),
    ("140", "2.5", "1.8", "up"),
    ("60", "1", "1.7", "up"),
]


def test_the_most_rise_is_the_published_one() -> None:
    assert LoadAdvicePolicy().most_rise == Decimal("0.10")
    assert LoadAdvicePolicy().least_rise == Decimal("0.01")


@pytest.mark.parametrize(("load", "step", "pct", "action"), TRAP)
def test_a_step_over_a_tenth_is_a_trap(load: str, step: str, pct: str, action: str) -> None:
    asked = target(kind="by_effort", written="", resolved=None)
    two = [done(days, 8, 8, 8, load=load, asked=asked) for days in (3, 7)]
    own = slot(*two, exercise=DUMBBELL, target=asked, grid=LoadGrid(step=Decimal(step)))
    risen = rise(own, Decimal(load), Decimal(load) + Decimal(step))
    assert risen is not None
    assert round(risen * 100, 1) == Fraction(pct)
    advice = load_advice(own, ReturnRule())
    assert advice.action == action
    assert advice.load == Decimal(load) + (Decimal(step) if action == "up" else 0)
