"""Tempo as performed: of a client, lift by lift; of a session, set by set."""

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.tenancy.scope import business_scope
from logs.models import SessionLog
from tests.coaching.queries import statements_of
from tests.logs import histories
from tests.logs.histories import MONDAY as THIS_WEEK
from tests.scenario import NOON, Cast

SQUAT: dict[str, Any] = {
    "name": "Back squat",
    "starts_at": "shortened",
    "restful_end": "shortened",
    "phase_words": {
        "eccentric": "bar down",
        "lengthened": "in the hole",
        "concentric": "bar up",
        "shortened": "standing",
    },
}
PULL_UP: dict[str, Any] = {
    "name": "Pull-up",
    "starts_at": "lengthened",
    "restful_end": "lengthened",
    "phase_words": {
        "eccentric": "body down",
        "lengthened": "arms long",
        "concentric": "body up",
        "shortened": "chin over",
    },
}
WEEK = timedelta(days=7)


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def prescribed(*slots: tuple[str, str, str]) -> dict[str, Any]:
    """A day whose slots ask 5 to 6 repetitions at a tempo, after one warm-up."""
    return {
        "blocks": [
            {
                "kind": "straight",
                "slots": [
                    {
                        "slot_key": key,
                        "exercise": exercise,
                        "sets": [
                            {"count": 1, "kind": "warm_up", "reps_low": 5},
                            {"count": 3, "kind": "work", "reps_low": 5, "reps_high": 6, "tempo": tempo},
                        ],
                    }
                    for key, exercise, tempo in slots
                ],
            }
        ]
    }


def seconds(*four: float) -> dict[str, Any]:
    return {
        "phase_s": dict(zip(("eccentric", "lengthened", "concentric", "shortened"), four, strict=True)),
        "phase_source": "device",
    }


def trained(cast: Cast, day: date, *, deload: bool = False) -> SessionLog:
    """Anna's squats at 31X1 and pull-ups at 31X2, measured and not; call it in the business's scope."""
    squat, pull_up = histories.exercise("back-squat", **SQUAT), histories.exercise("pull-up", **PULL_UP)
    plan = histories.planned(
        histories.assignment(cast.anna),
        day,
        deload=deload,
        prescribed=prescribed(("A1", "back-squat", "31X1"), ("A2", "pull-up", "31X2")),
    )
    log = histories.session(cast.anna, day, planned_session=plan)
    histories.performed(log, squat, slot_key="A1", kind="warm_up", set_number=1, **seconds(1, 0, 1, 0))
    histories.performed(log, squat, slot_key="A1", set_number=2, **seconds(3.1, 0.9, 2.5, 1.2))
    histories.performed(log, squat, slot_key="A1", set_number=3, **seconds(1.5, 0.2, 0.5, 3))
    histories.performed(log, squat, slot_key="A1", set_number=4, duration_s=Decimal(12))
    histories.performed(log, pull_up, slot_key="A2", set_number=2, **seconds(3, 4, 1, 0.5))
    histories.performed(log, pull_up, slot_key="A2", set_number=3)
    return log


def client_path(cast: Cast, query: str = "") -> str:
    return f"/api/v1/clients/{cast.anna.id}/performed-tempo{query}"


def test_a_session_shows_prescribed_and_performed_side_by_side_in_the_lifts_own_words(cast: Cast):
    with business_scope(cast.business_id):
        log = trained(cast, THIS_WEEK)
    answer = cast.api(cast.coach).get(f"/api/v1/session-logs/{log.id}/performed-tempo")
    assert answer.status_code == 200, answer.content
    body = answer.json()
    kept, rushed, timed, pulled, unmeasured = body["sets"]
    assert [(one["words"], one["asked_s"], one["performed_s"], one["fault"]) for one in rushed["phases"]] == [
        ("bar down", 3, 1.5, "rushed_eccentric"),
        ("in the hole", 1, 0.2, "rushed_pause"),
        ("bar up", 1, 0.5, None),
        ("standing", 1, 3, "lingered_pause"),
    ]
    assert (kept["kept"], kept["faults"], kept["asked_tempo"], kept["asked_from"]) == (True, [], "31X1", "plan")
    assert kept["time_under_tension"] == {
        "meant_s": 30, "meant_least_s": 25, "meant_from": "planned_repetitions", "performed_s": 38.5, "reached": True,
    }  # fmt: skip
    assert (timed["basis"], timed["overall"], timed["kept"], timed["phases"]) == ("duration", "shorter", None, [])
    # A pull-up is performed from the arms long: up, chin over, down, hang.
    assert [one["words"] for one in pulled["phases"]] == ["body up", "chin over", "body down", "arms long"]
    assert pulled["faults"] == ["rushed_pause", "lingered_pause"]
    assert (unmeasured["basis"], unmeasured["reason"]) == ("none", "not_measured")
    assert body["counts"]["faults"] == {"rushed_eccentric": 1, "rushed_pause": 2, "lingered_pause": 2}
    assert (body["time_under_tension"]["sets"], body["time_under_tension"]["reached_sets"]) == (4, 3)


def test_the_tempo_that_a_set_names_is_the_one_it_is_judged_by_and_the_planned_one_stands_beside(cast: Cast):
    with business_scope(cast.business_id):
        log = trained(cast, THIS_WEEK)
        log.sets.filter(set_number=3, slot_key="A1").update(tempo="10X0")
    rushed = cast.api(cast.coach).get(f"/api/v1/session-logs/{log.id}/performed-tempo").json()["sets"][1]
    assert (rushed["asked_tempo"], rushed["asked_from"], rushed["planned_tempo"]) == ("10X0", "set", "31X1")
    assert (rushed["faults"], rushed["phases"][3]["unasked_rest"]) == ([], True)


def test_seconds_from_no_device_or_video_judge_nobody(cast: Cast):
    with business_scope(cast.business_id):
        log = trained(cast, THIS_WEEK)
        log.sets.update(phase_source="")
    body = cast.api(cast.coach).get(f"/api/v1/session-logs/{log.id}/performed-tempo").json()
    assert (body["counts"]["sets_by_phases"], body["counts"]["faulty_sets"]) == (0, 0)


def test_a_clients_lifts_have_faults_by_kind_measured_shares_and_sentences(cast: Cast):
    with business_scope(cast.business_id):
        trained(cast, THIS_WEEK - WEEK, deload=True)
        trained(cast, THIS_WEEK)
    body = cast.api(cast.coach).get(client_path(cast)).json()
    squat, pull_up = body["lifts"]
    assert (squat["exercise"], squat["name"]) == ("back-squat", "Back squat")
    counts = squat["counts"]
    assert (counts["sets_by_phases"], counts["sets_by_duration"], counts["sets_not_measured"]) == (4, 2, 0)
    assert (counts["fault_rate"], counts["measured_rate"], counts["shorter_sets"]) == (0.5, 0.666667, 2)
    assert [(week["week_start"], week["deload"], week["sets"], week["fault_rate"]) for week in squat["weeks"]] == [
        ((THIS_WEEK - WEEK).isoformat(), True, 2, 0.5),
        (THIS_WEEK.isoformat(), False, 2, 0.5),
    ]
    assert (squat["trend"]["direction"], squat["trend"]["weeks"]) == ("not_enough_weeks", 1)
    assert squat["sentences"][0].startswith("2 of 4 measured sets were off the tempo asked")
    assert (pull_up["counts"]["sets_by_phases"], pull_up["counts"]["sets_not_measured"]) == (2, 2)
    assert body["all_lifts"]["counts"]["sets_by_phases"] == 6
    assert "practice" in body["method"]


def test_one_exercise_and_fewer_weeks_may_be_asked_for(cast: Cast):
    with business_scope(cast.business_id):
        trained(cast, THIS_WEEK - WEEK)
        trained(cast, THIS_WEEK)
    api = cast.api(cast.coach)
    body = api.get(client_path(cast, "?exercise=pull-up&weeks=1")).json()
    assert [lift["exercise"] for lift in body["lifts"]] == ["pull-up"]
    assert body["lifts"][0]["counts"]["sets_by_phases"] == 1
    assert api.get(client_path(cast, "?exercise=no-such-lift")).json()["errors"][0]["pointer"] == "?exercise"
    assert api.get(client_path(cast, "?weeks=53")).status_code == 400


def test_deleted_and_skipped_sets_and_lifts_without_a_tempo_say_nothing(cast: Cast):
    with business_scope(cast.business_id):
        log = trained(cast, THIS_WEEK)
        log.sets.filter(set_number=3).update(deleted_at=NOON)
        log.sets.filter(set_number=4).update(outcome="skipped")
        row = histories.exercise("ring-row", name="Ring row")
        histories.performed(log, row, slot_key="", set_number=1, **seconds(1, 0, 1, 0))
    body = cast.api(cast.coach).get(client_path(cast)).json()
    assert [(lift["exercise"], lift["counts"]["faulty_sets"]) for lift in body["lifts"]] == [
        ("back-squat", 0),
        ("pull-up", 1),
    ]
    assert body["all_lifts"]["counts"]["sets_without_tempo"] == 1


def test_statements_do_not_grow_with_sets(cast: Cast):
    api = cast.api(cast.coach)
    with business_scope(cast.business_id):
        log = trained(cast, THIS_WEEK)
    paths = (client_path(cast), f"/api/v1/session-logs/{log.id}/performed-tempo")
    few = [statements_of(api, path) for path in paths]
    with business_scope(cast.business_id):
        for week in range(1, 6):
            trained(cast, THIS_WEEK - week * WEEK)
    assert [statements_of(api, path) for path in paths] == few


def test_who_may_not_see_the_client_sees_none_of_it(cast: Cast, neighbour: Cast):
    with business_scope(cast.business_id):
        log = trained(cast, THIS_WEEK)
    for path in (client_path(cast), f"/api/v1/session-logs/{log.id}/performed-tempo"):
        assert cast.api(cast.client_member).get(path).status_code == 200
        assert cast.key("progress:read").get(path).status_code == 200
        assert cast.key("logs:read").get(path).status_code == 403
        for api in (cast.api(cast.other_coach), neighbour.api(neighbour.owner)):
            assert api.get(path).status_code == 404
    assert cast.api(cast.coach).get(f"/api/v1/session-logs/{uuid4()}/performed-tempo").status_code == 404


def test_a_set_of_both_sides_is_not_judged_by_its_duration_whatever_the_exercise(cast: Cast):
    with business_scope(cast.business_id):
        lunge = histories.exercise("walking-lunge", name="Walking lunge", laterality="alternating")
        document = prescribed(("A1", "walking-lunge", "3010"))
        document["blocks"][0]["slots"][0]["per_side"] = True
        plan = histories.planned(histories.assignment(cast.anna), THIS_WEEK, prescribed=document)
        log = histories.session(cast.anna, THIS_WEEK, planned_session=plan)
        # Five each side at four seconds each: as asked, and the whole set twice as long.
        histories.performed(log, lunge, slot_key="A1", set_number=2, duration_s=Decimal(40))
    (one,) = cast.api(cast.coach).get(f"/api/v1/session-logs/{log.id}/performed-tempo").json()["sets"]
    assert (one["basis"], one["reason"], one["overall"]) == ("none", "both_sides_together", None)
