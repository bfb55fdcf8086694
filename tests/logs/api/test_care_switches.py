"""What care switches off is shown by no answer that is about the client."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.flags import evaluate_flags
from logs.actions.weekly_progress import rebuild_weeks
from tests.logs import histories
from tests.logs.logging import check_in
from tests.scenario import NOON, Cast

TODAY = NOON.date()
WEIGHT = {"care_groups": ["eating_disorder_history"]}
HEART = {"care_groups": ["heart_rate_medicine"]}
BOTH = {"care_groups": ["pregnant"]}
MINOR = {"birth_date": "2015-01-01"}
PATHS = (
    "check-ins?client={client}",
    "check-ins/{log}?history=true",
    "log-batches/{batch}",
    "clients/{client}/check-in-summary",
    "clients/{client}/progress",
    "clients/{client}/readiness?days=14",
    "clients/{client}/training-load",
    "clients/{client}/lifts",
    "clients/{client}/lifts/weighted-pull-up",
    "clients/{client}/blocks/compare?from=2031-02-10&to=2031-03-05",
    "clients/{client}/next-session",
    "lifts",
    "overview",
    "flags?client={client}",
)


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def measured(cast: Cast) -> dict[str, str]:
    """Five weeks of weigh-ins, pulse and variability; the pulse of the last three days is raised, and flagged."""
    api = cast.api(cast.coach)
    items = [
        check_in(
            cast.anna,
            f"c{ago}",
            local_date=(TODAY - timedelta(days=ago)).isoformat(),
            bodyweight_kg=61.25 + ago % 2,
            resting_hr_bpm=77 if ago < 3 else 50 + ago % 2,
            hrv_rmssd_ms=43.5 + ago % 3,
        )
        for ago in range(35)
    ]
    batch = api.post("/api/v1/log-batches", {"source": "app", "check_ins": items}, format="json").json()
    log = next(one["id"] for one in batch["items"] if one["external_id"] == "c1")
    changed = {"bodyweight_kg": 63.75, "resting_hr_bpm": 78, "hrv_rmssd_ms": 44.5}
    assert api.patch(f"/api/v1/check-ins/{log}", changed, format="json", HTTP_IF_MATCH="*").status_code == 200
    with business_scope(cast.business_id):
        pull_up = histories.exercise("weighted-pull-up", load_basis="added", bodyweight_share=Decimal(1))
        for week in range(1, 5):
            session = histories.session(cast.anna, TODAY - timedelta(days=7 * week))
            histories.performed(session, pull_up, load_kg=Decimal(10 + week), load_basis="added", in_reserve=2)
        evaluate_flags(client_ids=[cast.anna.id], now=NOON)
    rebuild_weeks(cast.business_id, NOON)
    return {"client": str(cast.anna.id), "log": log, "batch": batch["id"]}


def figures(value: Any, *, names: tuple[str, ...], inside: bool = False) -> Iterator[Any]:
    """Walk through an answer and give every figure under a name that speaks of what is looked for."""
    if isinstance(value, dict):
        named = inside or any(part in str(value.get("kind", "")) for part in names)
        for name, inner in value.items():
            yield from figures(inner, names=names, inside=named or any(part in name for part in names))
    elif isinstance(value, list):
        for inner in value:
            yield from figures(inner, names=names, inside=inside)
    elif inside and isinstance(value, int | float) and not isinstance(value, bool) and value:
        yield value


def seen(cast: Cast, ids: dict[str, str], *names: str) -> dict[str, list[Any]]:
    """The figures of each answer that are under one of the names."""
    found = {}
    for path in PATHS:
        answer = cast.api(cast.coach).get("/api/v1/" + path.format(**ids))
        assert answer.status_code in (200, 404), (path, answer.content)
        shown = list(figures(answer.json(), names=names))
        if shown:
            found[path] = shown
    return found


HEART_NAMES = ("hr_bpm", "resting_heart_rate", "heart_rate_variability", "resting_hr", "hrv", "rmssd")
WEIGHT_NAMES = ("bodyweight", "body_kg", "body_lb")


@pytest.mark.parametrize("care", [HEART, BOTH], ids=["medicine", "pregnant"])
def test_no_answer_shows_heart_rate_where_care_switches_it_off(cast: Cast, care: dict):
    ids = measured(cast)
    assert len(seen(cast, ids, *HEART_NAMES)) >= 4
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(**care)
    assert seen(cast, ids, *HEART_NAMES) == {}
    read = cast.api(cast.coach).get(f"/api/v1/check-ins/{ids['log']}").json()
    assert "RPE" in read["heart_rate_hidden"]


@pytest.mark.parametrize("care", [WEIGHT, BOTH, MINOR], ids=["eating", "pregnant", "minor"])
def test_no_answer_shows_bodyweight_where_care_switches_it_off(cast: Cast, care: dict):
    ids = measured(cast)
    assert len(seen(cast, ids, *WEIGHT_NAMES)) >= 3
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(**care)
    assert seen(cast, ids, *WEIGHT_NAMES) == {}


def test_a_flag_about_a_pulse_that_care_has_switched_off_is_not_shown_while_it_waits_to_close(cast: Cast):
    ids = measured(cast)
    api = cast.api(cast.coach)
    (flag,) = api.get(f"/api/v1/flags?client={ids['client']}&kind=resting_heart_rate_up").json()["items"]
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(**HEART)
    assert api.get(f"/api/v1/flags/{flag['id']}").status_code == 404
    (row,) = (one for one in api.get("/api/v1/overview").json()["items"] if one["client"] == ids["client"])
    assert "resting heart rate" not in row["readiness"]["sentence"]
    days = api.get(f"/api/v1/clients/{ids['client']}/readiness?days=3").json()["days"]
    assert [one for day in days for one in day["flags"]] == []
    # What no rule reads is not what a verdict rests on.
    for verdict in (row["readiness"], *days):
        assert {"resting_heart_rate", "heart_rate_variability"} <= set(verdict["not_measured"])


def test_weigh_ins_from_before_18_stay_out_of_what_is_shown_later(cast: Cast):
    ids = measured(cast)
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(birth_date=TODAY.replace(year=TODAY.year - 18))
    weight = cast.api(cast.coach).get(f"/api/v1/clients/{ids['client']}/check-in-summary").json()["bodyweight"]
    assert (weight["n"], [one["local_date"] for one in weight["daily"]]) == (1, [TODAY.isoformat()])
