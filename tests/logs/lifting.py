"""Lifts performed week by week, and how their lines are read, for the tests of lift lines."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import store_client_weeks
from tests.logs import histories
from tests.logs.histories import MONDAY as THIS_WEEK
from tests.scenario import Cast

WEEK = timedelta(days=7)
RISING = [Decimal(100) + Decimal("1.5") * week for week in range(12)]


def lifted(cast: Cast, client: Client, loads: list[Any], *, key: str = "back-squat", **more: Any) -> None:
    """One session a week up to the last one, of one set of five with two in reserve; None for a week without."""
    exercise = more.pop("exercise", {})
    with business_scope(cast.business_id):
        lift = histories.exercise(key, **exercise)
        weeks = []
        for back, load in zip(range(len(loads), 0, -1), loads, strict=True):
            if load is None:
                continue
            day = THIS_WEEK - back * WEEK
            session = histories.session(client, day)
            fields = {"in_reserve": Decimal(2), "tempo_class": "standard", "load_kg": Decimal(load), **more}
            histories.performed(session, lift, **fields)
            weeks.append((client.id, day))
        store_client_weeks(weeks=weeks)


def path(client: Client, tail: str = "") -> str:
    return f"/api/v1/clients/{client.id}/lifts{tail}"


def read(api: Any, address: str) -> dict[str, Any]:
    answer = api.get(address)
    assert answer.status_code == 200, answer.content
    body: dict[str, Any] = answer.json()
    return body


def weighed(cast: Cast) -> None:
    with business_scope(cast.business_id):
        histories.check_in(cast.anna, THIS_WEEK - 8 * WEEK, bodyweight_kg=Decimal(80))
        histories.check_in(cast.anna, THIS_WEEK - 4 * WEEK, bodyweight_kg=Decimal(80))
    lifted(
        cast,
        cast.anna,
        [10, 10, 12, 12, 14, 14, 16, 16],
        key="pull-up",
        load_basis="added",
        exercise={"load_basis": "added", "loading": "bodyweight", "bodyweight_share": Decimal("0.95")},
    )
