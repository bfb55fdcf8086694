"""`/clients/{id}/training-load` as days, weeks and logs change under it."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import pandas as pd
import pytest
import time_machine

from coaching.models import Absence, Business, Client
from coaching.tenancy.scope import business_scope
from tests.logs import histories
from tests.logs.logging import post, session
from tests.scenario import NOON, Cast

TODAY = NOON.date()


def read(cast: Cast, *, now: datetime = NOON, weeks: int = 12) -> dict[str, Any]:
    with time_machine.travel(now, tick=False):
        # A sign-in of its own: an earlier one has run out by then.
        cast.tokens.clear()
        answer = cast.api(cast.coach).get(f"/api/v1/clients/{cast.anna.id}/training-load?weeks={weeks}")
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def logged(cast: Cast, *sessions: dict[str, Any], now: datetime = NOON) -> dict[str, Any]:
    with time_machine.travel(now, tick=False):
        return post(cast.api(cast.coach), source="app", session_logs=list(sessions))


def loads(found: dict[str, Any]) -> dict[str, Any]:
    return {day["local_date"]: day["load"] for day in found["days"]}


def test_two_sessions_of_a_day_are_one_load_and_corrections_and_deletions_are_followed(cast: Cast):
    both = [session(cast.anna, name, local_date="2031-03-03", duration_min=30, session_rpe=6) for name in ("a", "b")]
    answer = logged(cast, *both)
    assert loads(read(cast))["2031-03-03"] == 360
    first, second = (item["id"] for item in answer["items"])
    api = cast.api(cast.coach)
    with time_machine.travel(NOON, tick=False):
        api.patch(f"/api/v1/session-logs/{first}", {"session_rpe": None}, format="json", HTTP_IF_MATCH="*")
    day = read(cast)["days"][0]
    assert (day["load"], day["kind"], day["unknown"], day["minutes"]) == (None, "unknown", ["rating_unknown"], 60)
    with time_machine.travel(NOON, tick=False):
        api.delete(f"/api/v1/session-logs/{first}", HTTP_IF_MATCH="*")
    assert loads(read(cast))["2031-03-03"] == 180
    with time_machine.travel(NOON, tick=False):
        api.delete(f"/api/v1/session-logs/{second}", HTTP_IF_MATCH="*")
    assert read(cast)["weighted"]["reason"] == "nothing_logged"


def test_weeks_are_the_businesss_and_a_night_session_is_of_the_day_before(cast: Cast):
    with business_scope(cast.business_id):
        Business.objects.filter(id=cast.business_id).update(week_start=6, day_ends_at=time(4))
    started = "2031-03-02T02:30:00+01:00"
    item = session(cast.anna, "night", started_at=started, duration_min=60, session_rpe=5)
    logged(cast, {name: value for name, value in item.items() if name != "local_date"})
    found = read(cast, weeks=2)
    assert loads(found)["2031-03-01"] == 300
    assert [week["first"] for week in found["weeks"]] == ["2031-02-23", "2031-03-02"]


def test_the_day_that_clocks_change_is_one_day(cast: Cast):
    after = datetime(2031, 4, 2, 12, tzinfo=UTC)
    times = ["2031-03-29T23:30:00+01:00", "2031-03-30T05:00:00+02:00", "2031-03-30T23:30:00+02:00"]
    items = []
    for number, started in enumerate(times):
        item = session(cast.anna, f"s{number}", started_at=started, duration_min=60, session_rpe=number + 1)
        items.append({name: value for name, value in item.items() if name != "local_date"})
    logged(cast, *items, now=after)
    assert loads(read(cast, now=after)) == {
        "2031-03-29": 60,
        "2031-03-30": 300,
        "2031-03-31": 0,
        "2031-04-01": 0,
        "2031-04-02": 0,
    }


@pytest.mark.parametrize(("days", "reason"), [(27, "under_28_days"), (28, "known"), (29, "known")])
def test_means_come_with_28_days_that_are_over(cast: Cast, days: int, reason: str):
    trained = [(day, 40 + 7 * day % 90) for day in range(1, days + 1) if day % 3 or day == days]
    sent = [
        session(
            cast.anna,
            f"s{ago}",
            local_date=(TODAY - timedelta(days=ago)).isoformat(),
            duration_min=minutes,
            session_rpe=6.5,
        )
        for ago, minutes in trained
    ]
    logged(cast, *sent)
    found = read(cast)
    weighted = found["weighted"]
    assert (weighted["reason"], weighted["history_days"], found["as_of"]) == (reason, days, "2031-03-04")
    if reason == "known":
        series = pd.Series(0.0, index=range(days))
        for ago, minutes in trained:
            series[days - ago] = minutes * 6.5
        assert weighted["ewma_7"] == pytest.approx(series.ewm(span=7, adjust=False).mean().iloc[-1])
        assert weighted["ewma_28"] == pytest.approx(series.ewm(span=28, adjust=False).mean().iloc[-1])


def five_weeks(client: Client) -> None:
    for ago in range(1, 37):
        if ago % 2:
            day = TODAY - timedelta(days=ago)
            histories.session(client, day, session_rpe=Decimal(6), duration_min=Decimal(50))


def test_who_falls_silent_has_no_mean_of_the_days_between_what_was_planned(cast: Cast):
    with business_scope(cast.business_id):
        five_weeks(cast.anna)
        plan = histories.assignment(cast.anna)
        for ahead in (0, 2, 4):
            histories.planned(plan, TODAY + timedelta(days=ahead), state="missed")
    assert read(cast)["weighted"]["reason"] == "known"
    weighted = read(cast, now=NOON + timedelta(days=7))["weighted"]
    assert (weighted["reason"], weighted["ewma_7"], weighted["ratio"]["value"]) == ("too_many_unknown_days", None, None)
    assert weighted["days_unknown"] == 3


def test_sessions_missed_of_a_floating_week_are_as_many_unknown_days(cast: Cast):
    monday = date(2031, 2, 24)
    with business_scope(cast.business_id):
        five_weeks(cast.anna)
        plan = histories.assignment(cast.anna, calendar="any_days_in_week")
        for _ in range(2):
            window = {"window_start": monday, "window_end": monday + timedelta(days=6)}
            histories.planned(plan, monday + timedelta(days=6), state="missed", **window)
    found = read(cast)
    (week,) = (one for one in found["weeks"] if one["first"] == monday.isoformat())
    assert (week["days_unknown"], week["sessions"], week["total"]) == (2, 4, 1200)


def test_a_week_of_absence_is_not_compared(cast: Cast):
    with business_scope(cast.business_id):
        five_weeks(cast.anna)
        Absence.objects.create(client=cast.anna, starts_on="2031-02-24", ends_on="2031-02-26", kind="ill")
    assert read(cast)["comparison"]["reason"] == "week_away"
