"""`/flags`: who sees them, how they are filtered, and how people settle them."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.flags import flags_of_the_day
from logs.models import Flag
from tests.coaching.queries import statements_of
from tests.logs import histories
from tests.scenario import NOON, Cast

PATH = "/api/v1/flags"
PAIN = {"site": "knee", "side": "right", "score": 4, "when": "after", "onset": "known", "exercise": None}


@pytest.fixture
def flagged(cast: Cast) -> Cast:
    """Anna has a symptom and a pain, Carl a symptom."""
    with business_scope(cast.business_id):
        histories.check_in(cast.anna, NOON.date(), symptoms=["dizziness"], pains=[PAIN])
        histories.check_in(cast.carl, NOON.date(), symptoms=["fainting"])
    flags_of_the_day(cast.business_id, NOON)
    return cast


def listed(api: Any, query: str = "") -> list[dict[str, Any]]:
    answer = api.get(f"{PATH}{query}")
    assert answer.status_code == 200, answer.content
    return list(answer.json()["items"])


def flag_of(cast: Cast, client: Client, kind: str = "symptom") -> str:
    with business_scope(cast.business_id):
        return str(Flag.objects.get(client=client, kind=kind).id)


def test_a_posted_symptom_is_a_flag_after_the_next_dispatch(cast: Cast):
    check_in = {
        "external_id": "c-1",
        "client": str(cast.anna.id),
        "local_date": "2031-03-05",
        "symptoms": ["chest_pain"],
    }
    with time_machine.travel(NOON, tick=False):
        answer = cast.key("logs:write").post("/api/v1/log-batches", {"check_ins": [check_in]}, format="json")
        assert answer.status_code == 200, answer.content
        run_due_jobs(jobs=registry.dispatch_jobs, now=NOON, seconds=10)
        (flag,) = listed(cast.api(cast.coach))
    assert (flag["kind"], flag["action"], flag["client"]) == ("symptom", "stop_training", str(cast.anna.id))


def test_each_caller_sees_the_flags_of_the_clients_they_may_see(flagged: Cast, neighbour: Cast):
    def clients(member: Any, of: Cast = flagged) -> set[str]:
        return {flag["client"] for flag in listed(of.api(member))}

    anna, carl = str(flagged.anna.id), str(flagged.carl.id)
    assert clients(flagged.owner) == clients(flagged.head) == {anna, carl}
    assert clients(flagged.coach) == {anna}
    assert clients(flagged.other_coach) == {carl}
    assert clients(neighbour.owner, neighbour) == set()


def test_clients_and_keys_may_not_read_flags(flagged: Cast):
    assert flagged.api(flagged.client_member).get(PATH).status_code == 403
    assert flagged.key("logs:read", "progress:read").get(PATH).status_code == 403


def test_a_flag_says_what_it_rests_on_and_what_it_is_not(flagged: Cast):
    (flag,) = listed(flagged.api(flagged.coach), "?kind=pain")
    assert (flag["scope"], flag["severity"], flag["action"], flag["state"]) == (
        "region:knee:right",
        "watch",
        "no_increase",
        "open",
    )
    assert flag["figures"]["worst_score"] == 4
    assert flag["opened_on"] == "2031-03-05"
    assert flag["rule"]
    assert "Silbernagel" in flag["source"]
    assert "not a diagnosis" in flag["cautions"][0]


@pytest.mark.parametrize(
    ("query", "kinds"),
    [
        ("?kind=symptom", {"symptom"}),
        ("?kind=symptom,pain", {"symptom", "pain"}),
        ("?severity=watch", {"pain"}),
        ("?state=resolved", set()),
        ("?state=open,acknowledged", {"symptom", "pain"}),
    ],
)
def test_flags_are_filtered(flagged: Cast, query: str, kinds: set[str]):
    assert {flag["kind"] for flag in listed(flagged.api(flagged.owner), query)} == kinds


def test_flags_of_one_client_are_listed(flagged: Cast):
    assert {flag["client"] for flag in listed(flagged.api(flagged.owner), f"?client={flagged.carl.id}")} == {
        str(flagged.carl.id)
    }


@pytest.mark.parametrize("whose", ["another coach's", "nobody's"])
def test_filtering_by_a_client_whom_one_may_not_see_is_refused_alike(flagged: Cast, whose: str):
    client_id = flagged.carl.id if whose == "another coach's" else uuid4()
    answer = flagged.api(flagged.coach).get(f"{PATH}?client={client_id}")
    assert answer.status_code == 400
    assert answer.json()["errors"][0] == {
        "pointer": "?client",
        "code": "unknown_object",
        "detail": "There is no such client that you may see.",
    }


@pytest.mark.parametrize("query", ["?kind=fatigue", "?state=shut", "?severity=high", "?coach=me"])
def test_an_unknown_filter_is_refused(flagged: Cast, query: str):
    assert flagged.api(flagged.owner).get(f"{PATH}{query}").status_code == 400


def test_pages_hold_each_flag_once(flagged: Cast):
    api = flagged.api(flagged.owner)
    seen, path = [], f"{PATH}?limit=1"
    while path:
        answer = api.get(path).json()
        seen += [flag["id"] for flag in answer["items"]]
        path = answer["next"]
    assert len(seen) == len(set(seen)) == 3


def test_a_list_of_fifty_takes_as_many_statements_as_one(flagged: Cast):
    api = flagged.api(flagged.coach)
    one = statements_of(api, f"{PATH}?limit=1")
    with business_scope(flagged.business_id):
        flag = Flag.objects.filter(client=flagged.anna).first()
        assert flag is not None
        for number in range(50):
            flag.pk, flag.scope = None, f"region:{number}"
            flag.id = Flag._meta.pk.get_default()
            flag.opened_at = NOON - timedelta(minutes=number)
            flag.save(force_insert=True)
    assert len(listed(api, "?limit=50")) == 50
    assert statements_of(api, f"{PATH}?limit=50") == one


def test_a_coach_acknowledges_a_flag(flagged: Cast):
    api, flag_id = flagged.api(flagged.coach), flag_of(flagged, flagged.anna)
    answer = api.post(f"{PATH}/{flag_id}/acknowledge", {}, format="json")
    assert answer.status_code == 200, answer.content
    assert answer.json()["state"] == "acknowledged"
    assert answer.json()["acknowledged_by"] == str(flagged.coach.id)
    assert answer.headers["ETag"] == '"v2"'
    again = api.post(f"{PATH}/{flag_id}/acknowledge", {}, format="json")
    assert (again.status_code, again.json()["row_version"]) == (200, 2)
    assert api.get(f"{PATH}/{flag_id}").json() == again.json()


def test_a_coach_resolves_a_flag_with_a_word(flagged: Cast):
    api, flag_id = flagged.api(flagged.coach), flag_of(flagged, flagged.anna)
    answer = api.post(f"{PATH}/{flag_id}/resolve", {"resolution": "Cleared by her doctor."}, format="json")
    assert answer.status_code == 200, answer.content
    flag = answer.json()
    assert (flag["state"], flag["resolution"], flag["resolved_by"]) == (
        "resolved",
        "Cleared by her doctor.",
        str(flagged.coach.id),
    )


@pytest.mark.parametrize("verb", ["acknowledge", "resolve"])
def test_a_resolved_flag_can_not_be_moved_again(flagged: Cast, verb: str):
    api, flag_id = flagged.api(flagged.coach), flag_of(flagged, flagged.anna)
    api.post(f"{PATH}/{flag_id}/resolve", {}, format="json")
    answer = api.post(f"{PATH}/{flag_id}/{verb}", {}, format="json")
    assert (answer.status_code, answer.json()["code"]) == (409, "flag_not_standing")


@pytest.mark.parametrize("verb", ["acknowledge", "resolve"])
def test_what_is_not_known_in_a_body_is_refused(flagged: Cast, verb: str):
    path = f"{PATH}/{flag_of(flagged, flagged.anna)}/{verb}"
    answer = flagged.api(flagged.coach).post(path, {"state": "closed"}, format="json")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/state")
    assert listed(flagged.api(flagged.coach), "?kind=symptom")[0]["state"] == "open"


def test_a_viewer_may_not_settle_flags(flagged: Cast):
    path = f"{PATH}/{flag_of(flagged, flagged.anna)}"
    for verb in ("acknowledge", "resolve"):
        assert flagged.api(flagged.viewer).post(f"{path}/{verb}", {}, format="json").status_code == 403


def test_a_flag_that_is_not_ones_own_is_like_none(flagged: Cast, neighbour: Cast):
    flag_id, none = flag_of(flagged, flagged.anna), uuid4()
    for api in (flagged.api(flagged.other_coach), neighbour.api(neighbour.owner)):
        for method, tail in (("get", ""), ("post", "/acknowledge"), ("post", "/resolve")):
            answers = [getattr(api, method)(f"{PATH}/{one}{tail}", format="json") for one in (flag_id, none)]
            assert [answer.status_code for answer in answers] == [404, 404]
            assert answers[0].json()["detail"] == answers[1].json()["detail"]
    assert {flag["state"] for flag in listed(flagged.api(flagged.owner))} == {"open"}
