"""The demo's business, whose truth is known, played over HTTP: the service finds exactly what is true."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

import httpx
import pytest
import time_machine
from django.core.management import call_command

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.config.wsgi import application
from coaching.demo.outcome import Outcome, read_outcome
from coaching.demo.people import BUSINESS, CLIENTS, COACHES, PASSWORD, Story
from coaching.demo.play import Caller, Played, play, sign_in
from tests.conftest import empty_tables


class World(NamedTuple):
    """What was played, and what the service made of it."""

    now: datetime
    owner: Caller
    played: Played
    outcome: Outcome


MOMENTS = [
    # A Thursday evening in UTC: past every coach's morning hour but one, and Friday already in Auckland.
    datetime(2031, 3, 6, 20, tzinfo=UTC),
    # A Monday just begun in UTC: still Sunday for a third of the clients, whose week is not over.
    datetime(2026, 11, 30, 0, 30, tzinfo=UTC),
]


@pytest.fixture(scope="module", params=MOMENTS, ids=str)
def world(request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: Any) -> Iterator["World"]:
    """Play once for all tests of the module, committed for real."""
    now: datetime = request.param
    with django_db_blocker.unblock(), time_machine.travel(now, tick=True):
        call_command(
            "create_business",
            name=BUSINESS,
            time_zone=COACHES[0].zone,
            owner_email=COACHES[0].email,
            owner_name=COACHES[0].name,
            owner_password=PASSWORD,
            verbosity=0,
        )
        transport = httpx.WSGITransport(app=application)
        with httpx.Client(transport=transport, base_url="http://testserver", timeout=60) as http:
            played = play(http, now=now, say=lambda _sentence: None)
            run_due_jobs(jobs=registry.tick_jobs, now=now, seconds=120)
            run_due_jobs(jobs=registry.dispatch_jobs[1:], now=now, seconds=120)
            owner = sign_in(http, COACHES[0].email)
            yield World(now, owner, played, read_outcome(owner, played, now))
        empty_tables()


def test_every_item_lands(world: World) -> None:
    played = world.played
    assert {outcome for outcome, count in played.outcomes.items() if count} == {"created"}
    assert played.outcomes["created"] > 15_000


def test_the_flags_that_stand_are_exactly_the_clients_true_stories(world: World) -> None:
    outcome = world.outcome
    assert outcome.differences() == []


def test_a_red_flag_and_strong_pain_are_answered_in_the_post_itself(world: World) -> None:
    played = world.played
    assert len(played.cautions) >= 2


def test_alerts_name_exactly_the_sessions_that_went_undone(world: World) -> None:
    owner, played = world.owner, world.played
    alerted = {alert["planned_session"] for alert in owner.all("/alerts")}
    settled_before = (world.now - timedelta(days=2)).date()
    local_dates = {day.id: day.local_date for days in played.planned.values() for day in days}
    on_holiday = {
        session for profile in CLIENTS if profile.story is Story.HOLIDAY for session in played.logs[profile.slug].undone
    }
    undone = {session for logs in played.logs.values() for session in logs.undone} - on_holiday
    assert alerted <= undone
    assert {session for session in undone if local_dates[session] <= settled_before} <= alerted
    assert alerted


def test_improving_clients_estimates_rise_and_stalled_ones_do_not(world: World) -> None:
    owner, played = world.owner, world.played
    changes: dict[Story, list[float]] = {Story.IMPROVES: [], Story.STALLS: []}
    for profile in CLIENTS:
        if profile.story not in changes:
            continue
        rows = owner.get(f"/clients/{played.client_ids[profile.slug]}/progress", weeks=12)["weeks"]
        series: dict[str, list[tuple[str, float]]] = {}
        for row in rows:
            if row["deload"]:
                continue
            for line in row["lift_values"].values():
                key = f"{line['exercise']}/{line['side']}/{line['tempo_class']}/{line['machine']}"
                series.setdefault(key, []).append((row["week_start"], float(line["value_kg"])))
        for points in series.values():
            ordered = [value for _week, value in sorted(points)]
            if len(ordered) >= 8 and ordered[0] > 15:
                changes[profile.story].append(sum(ordered[-3:]) / sum(ordered[:3]) - 1)
    improved = sorted(changes[Story.IMPROVES])
    stalled = sorted(changes[Story.STALLS])
    assert improved
    assert stalled
    assert improved[len(improved) // 2] > 0.07
    assert abs(stalled[len(stalled) // 2]) < 0.02


def test_who_keeps_the_tempo_and_who_rushes_more_each_week_are_told_apart(world: World) -> None:
    owner, played = world.owner, world.played
    found = {}
    for profile in CLIENTS:
        if profile.story in {Story.KEEPS_TEMPO, Story.RUSHES_TEMPO}:
            tempo = owner.get(f"/clients/{played.client_ids[profile.slug]}/performed-tempo", weeks=12)
            found[profile.story] = tempo["all_lifts"]
    kept, rushed = found[Story.KEEPS_TEMPO], found[Story.RUSHES_TEMPO]
    assert (kept["counts"]["faulty_sets"], kept["trend"]["direction"]) == (0, "undecided")
    assert kept["counts"]["sets_by_phases"] > 200
    assert rushed["trend"]["direction"] == "rising"
    assert rushed["counts"]["faults"]["rushed_eccentric"] > 0
    assert rushed["counts"]["faults"]["rushed_pause"] > 0
