"""`/planned-sessions/{id}/card`."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from programs.models import PlannedSession
from tests.coaching.queries import statements_of
from tests.planned_sessions import plan_session
from tests.programs.cards.card_cast import full_session, straight
from tests.programs.documents import MONDAY, assign, published, sessions
from tests.scenario import NOON, Cast

PDF, HTML, JSON = "application/pdf", "text/html", "application/json"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def week(*blocks: dict[str, Any]) -> dict[str, Any]:
    day = {"day_number": 1, "template_key": "lower-a", "title": "Lower A", "blocks": list(blocks)}
    return {"weeks": [{"week_number": 1, "deload": False, "days": [day]}]}


def planned(cast: Cast, *clients: Client, blocks: list[dict[str, Any]] | None = None) -> list[PlannedSession]:
    with business_scope(cast.business_id):
        version = published(week(*(blocks or full_session())))
        assign(cast.head, version, *(client.id for client in clients), weekdays=(0,))
        return [sessions(client.id)[0] for client in clients]


@pytest.fixture
def row(cast: Cast) -> PlannedSession:
    return planned(cast, cast.anna)[0]


def path(session: PlannedSession | Any) -> str:
    return f"/api/v1/planned-sessions/{getattr(session, 'id', session)}/card"


def test_a_card_is_json_where_nothing_else_is_asked(cast: Cast, row: PlannedSession) -> None:
    answer = cast.api(cast.client_member).get(path(row))
    assert (answer.status_code, answer.headers["Content-Type"], answer.headers["ETag"]) == (200, JSON, '"v1"')
    shown = answer.json()
    assert (shown["planned_session"], shown["client"]["name"], shown["when"]) == (
        str(row.id),
        "Anna",
        "Monday 10 March 2031",
    )
    bench, pull_up = shown["blocks"][1]["exercises"]
    assert bench["tempos"][0]["performed"] == "4 s bar down, 1 s on the chest, fast bar up, 1 s locked out"
    assert pull_up["sets"][0]["load"]["load_kg"] == 10
    assert pull_up["rest"] == "rest 75 s, then back to B1"
    plates = shown["blocks"][0]["exercises"][0]["sets"][1]["load"]["plates"][0]
    assert plates == {
        "words": "20 kg bar, each side 25 + 15 + 1.25",
        "bar_kg": 20,
        "per_side_kg": [25, 15, 1.25],
        "made_kg": 102.5,
        "left_over_kg": 0,
    }
    assert shown["timeline"]["svg"].startswith("<svg ")
    assert shown["cautions"][0]["urgency"] == "emergency"


def test_a_browser_gets_a_page_that_its_policy_lets_it_show(cast: Cast, row: PlannedSession) -> None:
    browser = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"
    answer = cast.api(cast.client_member).get(path(row), HTTP_ACCEPT=browser)
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "text/html; charset=utf-8")
    assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'; style-src 'sha256-")
    assert (answer.headers["ETag"], answer.headers["Cache-Control"]) == ('"v1"', "no-store")
    assert "Accept" in answer.headers["Vary"]
    assert answer.content.decode().startswith("<!doctype html>")


def test_paper_is_pdf(cast: Cast, row: PlannedSession) -> None:
    api = cast.api(cast.coach)
    answer = api.get(path(row), HTTP_ACCEPT=PDF)
    assert (answer.status_code, answer.headers["Content-Type"], answer.headers["ETag"]) == (200, PDF, '"v1"')
    assert answer.headers["Content-Disposition"] == 'inline; filename="session-2031-03-10.pdf"'
    assert answer.content.startswith(b"%PDF-")
    assert b"[0 0 612 792]" in api.get(f"{path(row)}?paper=letter", HTTP_ACCEPT=PDF).content


@pytest.mark.parametrize(
    ("accept", "given"),
    [
        ("application/pdf;q=0.4, text/html;q=0.9", "text/html; charset=utf-8"),
        ("text/html;q=0, application/json", JSON),
        ("*/*", JSON),
        ("text/*", "text/html; charset=utf-8"),
    ],
)
def test_the_weights_of_accept_decide(cast: Cast, row: PlannedSession, accept: str, given: str) -> None:
    assert cast.api(cast.coach).get(path(row), HTTP_ACCEPT=accept).headers["Content-Type"] == given


def test_a_form_that_is_not_offered_is_a_problem(cast: Cast, row: PlannedSession) -> None:
    answer = cast.api(cast.coach).get(path(row), HTTP_ACCEPT="image/png")
    assert (answer.status_code, answer.headers["Content-Type"]) == (406, "application/problem+json")
    assert "application/pdf" in answer.json()["detail"]


def test_a_paper_that_does_not_exist_is_refused_in_any_form(cast: Cast, row: PlannedSession) -> None:
    for accept in (PDF, HTML, JSON):
        answer = cast.api(cast.coach).get(f"{path(row)}?paper=a9", HTTP_ACCEPT=accept)
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "?paper")


def test_a_strangers_card_is_not_there(cast: Cast, neighbour: Cast) -> None:
    (carls,) = planned(cast, cast.carl)
    (theirs,) = planned(neighbour, neighbour.anna)
    for accept in (PDF, HTML, JSON):
        for session in (carls, theirs, uuid4()):
            answer = cast.api(cast.coach).get(path(session), HTTP_ACCEPT=accept)
            assert (answer.status_code, answer.json()["code"]) == (404, "not_found")
    assert cast.api(cast.client_member).get(path(carls)).status_code == 404


def test_who_reads_plans_reads_cards(cast: Cast, row: PlannedSession) -> None:
    may = [cast.api(member) for member in (cast.owner, cast.head, cast.coach, cast.client_member)]
    for api in (*may, cast.key("plans:read", clients=[cast.anna.id])):
        assert api.get(path(row)).status_code == 200
    assert cast.key("plans:read", clients=[cast.ben.id]).get(path(row)).status_code == 404
    assert cast.key("logs:write").get(path(row)).status_code == 403


def test_the_etag_follows_the_session(cast: Cast, row: PlannedSession) -> None:
    api = cast.api(cast.coach)
    change = {"state": "excused", "excuse_reason": "A wedding."}
    api.patch(f"/api/v1/planned-sessions/{row.id}", change, format="json", HTTP_IF_MATCH='"v1"')
    answer = api.get(path(row), HTTP_ACCEPT=HTML)
    assert answer.headers["ETag"] == '"v2"'
    assert "Excused" in answer.content.decode()


def test_a_client_of_pounds_reads_pounds(cast: Cast, row: PlannedSession) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(unit="lb")
    load = cast.api(cast.coach).get(path(row)).json()["blocks"][0]["exercises"][0]["sets"][0]["load"]
    assert load["load_lb"] == 88.18
    assert (load["plates"][0]["bar_lb"], load["plates"][0]["made_lb"]) == (45, 85)


def test_a_session_with_nothing_in_it_has_no_card(cast: Cast) -> None:
    with business_scope(cast.business_id):
        empty = plan_session(cast.anna, MONDAY)
    answer = cast.api(cast.coach).get(path(empty))
    assert (answer.status_code, answer.json()["code"]) == (409, "nothing_prescribed")


def test_a_long_session_takes_as_many_statements_as_a_short_one(cast: Cast) -> None:
    (short,) = planned(cast, cast.anna, blocks=[straight({"reps_low": 5})])
    (long,) = planned(cast, cast.ben)
    api = cast.api(cast.coach)
    assert statements_of(api, path(short)) == statements_of(api, path(long))
