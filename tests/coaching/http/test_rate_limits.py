"""Rates: exactly so many are admitted, each caller apart, each answer tells what is left."""

import re
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.test import Client as Browser
from django.test import RequestFactory

from coaching.http.problem_documents import Problem
from coaching.http.rate_limits import admit, charge
from coaching.http.rate_policy import EXPENSIVE, PER_MINUTE, RateClass, batch_cost, class_of
from coaching.policy import OPERATIONS
from coaching.tenancy.models import new_id
from tests.scenario import Cast, signed_in
from tests.valkey_server import OwnValkey

FIELD = re.compile(r'"(\w+)";r=(\d+);t=(\d+)')


@pytest.fixture
def limits(settings: Any) -> dict[RateClass, int]:
    """The limits, for a test to lower."""
    settings.RATE_LIMITS = dict(settings.RATE_LIMITS)
    found: dict[RateClass, int] = settings.RATE_LIMITS
    return found


def _left(answer: Any) -> tuple[str, int]:
    match = FIELD.fullmatch(answer.headers["RateLimit"])
    assert match, answer.headers["RateLimit"]
    return match[1], int(match[2])


def test_every_answer_tells_the_quota_and_what_is_left_of_it(cast: Cast, limits: dict[RateClass, int]) -> None:
    limits[RateClass.READING], limits[RateClass.WRITING] = 40, 60
    coach = cast.api(cast.coach)
    answers = [coach.get("/api/v1/me"), coach.get("/api/v1/clients/nothing"), coach.get("/api/v1/me?x=1")]
    assert [answer.status_code for answer in answers] == [200, 404, 400]
    assert answers[0].headers["RateLimit-Policy"] == '"reading";q=40;w=60'
    assert [_left(answer) for answer in (answers[0], answers[2])] == [("reading", 39), ("reading", 38)]
    written = coach.post("/api/v1/clients", {}, format="json")
    assert (written.status_code, _left(written)) == (400, ("writing", 59)), "a refused request counts too"


def test_a_quota_that_is_used_up_is_refused_with_the_registered_problem(
    cast: Cast, limits: dict[RateClass, int]
) -> None:
    limits[RateClass.READING] = 2
    coach = cast.api(cast.coach)
    answer = [coach.get("/api/v1/me") for _ in range(3)][-1]
    problem = answer.json()
    assert answer.status_code == 429
    assert problem["type"] == "https://iana.org/assignments/http-problem-types#quota-exceeded"
    assert problem["violated-policies"] == ["reading"]
    match = FIELD.fullmatch(answer.headers["RateLimit"])
    assert match
    assert match[2] == "0"
    assert int(answer.headers["Retry-After"]) >= int(match[3]) > 0
    other = cast.api(cast.head).get("/api/v1/me")
    assert (other.status_code, _left(other)) == (200, ("reading", 1)), "another credential has a quota of its own"


def test_one_business_never_spends_anothers_quota(cast: Cast, neighbour: Cast, limits: dict[RateClass, int]) -> None:
    limits[RateClass.READING] = 1
    spent, own = cast.key("logs:read"), neighbour.key("logs:read")
    assert [spent.get("/api/v1/me").status_code for _ in range(2)] == [200, 429]
    assert own.get("/api/v1/me").status_code == 200


def test_guessed_credentials_are_counted_by_address_and_never_stand_in_the_way_of_good_ones(
    cast: Cast, limits: dict[RateClass, int]
) -> None:
    limits[RateClass.ANONYMOUS] = 3
    here = {"REMOTE_ADDR": "192.0.2.7"}
    guesses = [signed_in(f"cp_abcdefgh_{letter * 43}").get("/api/v1/me", **here).status_code for letter in "wxyz"]
    assert guesses == [401, 401, 401, 429]
    assert Browser().get("/api/v1/me", **here).status_code == 429
    assert Browser().get("/docs/problems", **here).status_code == 429
    assert Browser().get("/healthz", **here).status_code == 200
    assert Browser().get("/api/v1/me", REMOTE_ADDR="192.0.2.8").status_code == 401
    assert cast.api(cast.coach).get("/api/v1/me", **here).status_code == 200


def test_neighbours_in_one_network_of_version_6_are_one_caller(db: None, limits: dict[RateClass, int]) -> None:
    limits[RateClass.ANONYMOUS] = 1
    asked = [Browser().get("/api/v1/me", REMOTE_ADDR=f"2001:db8:5::{end}").status_code for end in "12"]
    assert asked == [401, 429]
    assert Browser().get("/api/v1/me", REMOTE_ADDR="2001:db8:6::1").status_code == 401


def test_a_batch_costs_by_the_hundred_and_is_stored_whole_or_not_at_all(
    cast: Cast, limits: dict[RateClass, int]
) -> None:
    limits[RateClass.WRITING] = 5
    app = cast.key("logs:write", "logs:read")

    def send(count: int, first: int) -> Any:
        logs = [
            {"external_id": f"c{first + n}", "client": str(cast.anna.id), "local_date": "2026-01-05", "sleep": 3}
            for n in range(count)
        ]
        return app.post("/api/v1/log-batches", {"source": "app", "check_ins": logs}, format="json")

    assert _left(send(250, 0)) == ("writing", 2)
    refused = send(201, 1000)
    assert (refused.status_code, _left(refused)) == (429, ("writing", 1)), "counted as one request"
    assert _left(send(100, 2000)) == ("writing", 0)
    with_ids = {row["external_id"] for row in app.get("/api/v1/check-ins?limit=200").json()["items"]}
    assert not any(name.startswith("c1") and len(name) == 5 for name in with_ids)


def test_of_many_at_once_exactly_the_quota_is_admitted(settings: Any, limits: dict[RateClass, int]) -> None:
    limits[RateClass.READING] = 100
    credential = (new_id(), new_id())

    def ask(_number: int) -> bool:
        try:
            admit(RequestFactory().get("/"), "me.read", credential)
        except Problem:
            return False
        return True

    with ThreadPoolExecutor(16) as threads, OwnValkey() as valkey:
        settings.REDIS_URL = valkey.url
        assert sum(threads.map(ask, range(800))) == 100


def test_redis_holds_no_address_and_no_email(cast: Cast, settings: Any) -> None:
    with OwnValkey() as valkey:
        settings.REDIS_URL = valkey.url
        cast.api(cast.coach).get("/api/v1/me")
        Browser().post(
            "/api/v1/sessions", {"email": "a@b.example"}, content_type="application/json", REMOTE_ADDR="192.0.2.7"
        )
        keys = valkey.ask("KEYS", "*")
    assert isinstance(keys, list)
    assert len(keys) == 2
    assert any(str(cast.business_id) in key for key in keys)
    assert not any("192.0.2.7" in key or "@" in key for key in keys)


@pytest.mark.parametrize(
    ("operation", "method", "accept", "counted"),
    [
        ("clients.list", "GET", "", "reading"),
        ("clients.create", "POST", "", "writing"),
        ("", "PUT", "", "writing"),
        ("prescriptions.analyse", "POST", "", "expensive"),
        ("program_versions.analysis", "GET", "", "expensive"),
        ("planned_sessions.card", "GET", "application/json", "reading"),
        ("planned_sessions.card", "GET", "text/html, Application/PDF;q=0.9", "expensive"),
        ("exports.create", "POST", "", "expensive"),
        ("exports.list", "GET", "", "reading"),
    ],
)
def test_what_costs_the_service_most_counts_apart(operation: str, method: str, accept: str, counted: str) -> None:
    assert class_of(operation, method, accept) == counted


def test_the_table_of_dear_operations_names_real_ones() -> None:
    assert OPERATIONS.keys() >= EXPENSIVE


@pytest.mark.parametrize(("items", "units"), [(0, 1), (1, 1), (100, 1), (101, 2), (5000, 50)])
def test_a_batch_costs_one_unit_for_each_hundred_begun(items: int, units: int) -> None:
    assert batch_cost(items) == units


def test_the_default_limits_admit_what_dozens_of_clients_apps_send_at_once() -> None:
    clients, opening, full_batch = 60, 20, batch_cost(5000)
    assert clients * opening * 2 <= PER_MINUTE[RateClass.READING]
    assert clients * 2 * batch_cost(300) * 2 <= PER_MINUTE[RateClass.WRITING]
    assert full_batch * 2 <= PER_MINUTE[RateClass.WRITING]


def test_what_was_never_counted_is_not_charged() -> None:
    charge(RequestFactory().get("/"), 50)
