"""How often the rules about how somebody says they are cry out for nothing, and how soon for something.

A simulation through the service's own rules, seeded: people whose answers and pulse only scatter, and people who drop.
It measures; the bounds below are of what was found (practice, no source), so that a change of a rule is seen here.
Found with 60 people over three months each, daily answers of SD 1 point and a pulse of SD 3 b/min, and with a drop of 2
points on each item and of 8 b/min:

| rule | openings a well client-month | share of their days | found within 1, 2, 3, 7 days |
|---|---|---|---|
| `low_wellness` (1.5 SD) | 1.33 | 5.6 % | 87, 100, 100, 100 % |
| `low_wellness` at 2 SD | 0.22 | 0.8 % | 67, 90, 95, 98 % |
| `resting_heart_rate_up` | 0.08 | 0.3 % | 13, 65, 97, 100 % |
"""

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import pytest

from logs.analysis.check_in_scales import ITEMS, CheckInEntry
from logs.analysis.readiness import RuleState
from logs.analysis.wellness_flags import WellnessPolicy, low_wellness_state, resting_heart_rate_state

FIRST = date(2031, 1, 6)
MONTH_DAYS = 28
USUAL = {"sleep": 2.6, "fatigue": 3.1, "stress": 2.9, "soreness": 2.4}
PULSE_BPM, PULSE_SD_BPM = 58, 3
PEOPLE = 60
DROP_ON = 42

Rule = Callable[[list[CheckInEntry], date], RuleState]


def clipped(value: float) -> int:
    return min(7, max(1, round(value)))


def daily(
    chance: random.Random, days: int, *, drop_on: int | None = None, points: int = 0, bpm: int = 0
) -> list[CheckInEntry]:
    """A check-in a day: each item scatters with an SD of one point, the pulse with one of three beats."""
    found = []
    for day in range(days):
        dropped = drop_on is not None and day >= drop_on
        items: dict[str, int] = {item: clipped(chance.gauss(USUAL[item] + points * dropped, 1)) for item in ITEMS}
        pulse = round(chance.gauss(PULSE_BPM + bpm * dropped, PULSE_SD_BPM))
        found.append(CheckInEntry(local_date=FIRST + timedelta(days=day), resting_hr_bpm=pulse, **items))
    return found


def held(rule: Rule, entries: list[CheckInEntry], days: Iterable[int]) -> list[bool]:
    """What the rule says on each of some days, knowing only what had come by then."""
    return [rule(entries[: day + 1], FIRST + timedelta(days=day)).holds for day in days]


@dataclass(frozen=True)
class Rates:
    openings_a_month: float
    share_of_days: float
    found_within: dict[int, float]


def measured(rule: Rule) -> Rates:
    chance = random.Random("wellness")
    well_days = range(MONTH_DAYS, 4 * MONTH_DAYS)
    well = [held(rule, daily(chance, well_days.stop), well_days) for _ in range(PEOPLE)]
    openings = sum(now and not before for days in well for before, now in zip([False, *days], days, strict=False))
    drop_days = range(DROP_ON, DROP_ON + 7)
    dropped = [
        held(rule, daily(chance, drop_days.stop, drop_on=DROP_ON, points=2, bpm=8), drop_days) for _ in range(PEOPLE)
    ]
    return Rates(
        openings_a_month=openings / (PEOPLE * len(well_days) / MONTH_DAYS),
        share_of_days=sum(map(sum, well)) / (PEOPLE * len(well_days)),
        found_within={days: sum(any(one[:days]) for one in dropped) / PEOPLE for days in (1, 2, 3, 7)},
    )


def test_low_wellness_cries_out_about_once_a_month_for_nothing_and_finds_a_drop_of_two_points_in_two_days():
    rates = measured(low_wellness_state)
    assert rates.openings_a_month == pytest.approx(1.3, abs=0.4)
    assert rates.share_of_days == pytest.approx(0.055, abs=0.02)
    assert rates.found_within[2] >= 0.9


def test_low_wellness_at_two_standard_deviations_cries_out_a_sixth_as_often_and_finds_the_drop_within_a_week():
    rates = measured(lambda entries, today: low_wellness_state(entries, today, policy=WellnessPolicy(worse_by_sd=2)))
    assert rates.openings_a_month == pytest.approx(0.2, abs=0.15)
    assert rates.found_within[2] >= 0.7
    assert rates.found_within[7] >= 0.95


def test_a_raised_pulse_cries_out_once_a_year_for_nothing_and_finds_eight_beats_in_three_days():
    rates = measured(resting_heart_rate_state)
    assert rates.openings_a_month <= 0.2
    assert rates.found_within[1] <= 0.3
    assert rates.found_within[3] >= 0.85
