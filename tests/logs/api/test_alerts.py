"""`GET /alerts`: who sees which alerts, and how far their delivery has come."""

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from coaching.actions.outbox import deliver_due_messages
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.digests import make_digests
from tests.coaching.queries import statements_of
from tests.logs.actions.test_alerts import TUESDAY, WEDNESDAY_AT_SEVEN, WEDNESDAY_AT_SIX
from tests.planned_sessions import plan_session
from tests.scenario import Cast
from tests.smtp_server import SmtpSink

PATH = "/api/v1/alerts"


def _miss(cast: Cast, *clients: Any, day: date = TUESDAY) -> None:
    with business_scope(cast.business_id):
        for client in clients:
            plan_session(client, day)
    detect_missed(cast.business_id, WEDNESDAY_AT_SEVEN + timedelta(days=1))


def _items(api: Any, query: str = "") -> list[dict[str, Any]]:
    answer = api.get(f"{PATH}{query}")
    assert answer.status_code == 200, answer.content
    return list(answer.json()["items"])


def _clients(api: Any, query: str = "") -> set[str]:
    return {item["client"] for item in _items(api, query)}


def test_each_caller_sees_the_alerts_of_the_clients_they_may_see(cast: Cast, neighbour: Cast) -> None:
    _miss(cast, cast.anna, cast.carl)
    anna, carl = str(cast.anna.id), str(cast.carl.id)
    assert _clients(cast.api(cast.owner)) == _clients(cast.api(cast.head)) == {anna, carl}
    assert _clients(cast.api(cast.coach)) == {anna}
    assert _clients(cast.api(cast.other_coach)) == {carl}
    assert _clients(cast.api(cast.viewer)) == set()
    assert _clients(neighbour.api(neighbour.owner)) == set()


def test_clients_and_keys_may_not_list_alerts(cast: Cast) -> None:
    assert cast.api(cast.client_member).get(PATH).status_code == 403
    assert cast.key("logs:read", "plans:read", "progress:read").get(PATH).status_code == 403


def test_an_alert_shows_its_session_and_no_digest_before_the_coachs_morning(cast: Cast) -> None:
    _miss(cast, cast.anna)
    (alert,) = _items(cast.api(cast.coach))
    assert alert["local_date"] == "2031-03-04"
    assert alert["title"] == "Lower A"
    assert (alert["state"], alert["session_state"], alert["reason"]) == ("standing", "missed", "")
    assert alert["digest"] is None


def test_an_alert_shows_how_far_its_delivery_has_come(cast: Cast, smtp: SmtpSink) -> None:
    with business_scope(cast.business_id):
        plan_session(cast.anna, TUESDAY)
    detect_missed(cast.business_id, WEDNESDAY_AT_SIX)

    def delivery() -> dict[str, Any]:
        (alert,) = _items(cast.api(cast.coach))
        assert alert["digest"]["local_date"] == "2031-03-05"
        assert alert["digest"]["coach"] == str(cast.coach.id)
        return dict(alert["digest"]["delivery"])

    make_digests(cast.business_id, WEDNESDAY_AT_SEVEN)
    assert delivery()["state"] == "queued"
    smtp.answer("450 4.2.0 Later")
    deliver_due_messages(cast.business_id, WEDNESDAY_AT_SEVEN)
    retrying = delivery()
    assert (retrying["state"], retrying["attempts"]) == ("retrying", 1)
    assert "450" in retrying["problem"]
    deliver_due_messages(cast.business_id, WEDNESDAY_AT_SEVEN + timedelta(minutes=1))
    sent = delivery()
    assert sent["state"] == "sent"
    assert datetime.fromisoformat(sent["settled_at"]) == WEDNESDAY_AT_SEVEN + timedelta(minutes=1)


def test_the_list_is_filtered_by_client_and_state(cast: Cast) -> None:
    _miss(cast, cast.anna, cast.ben)
    owner = cast.api(cast.owner)
    assert _clients(owner, f"?client={cast.ben.id}") == {str(cast.ben.id)}
    assert _clients(owner, "?state=withdrawn") == set()
    assert len(_clients(owner, "?state=withdrawn,standing")) == 2


def test_a_filter_by_a_client_who_is_not_there_for_the_caller_is_refused_alike(cast: Cast, neighbour: Cast) -> None:
    for client_id in (neighbour.anna.id, cast.carl.id, new_id()):
        answer = cast.api(cast.coach).get(f"{PATH}?client={client_id}")
        assert (answer.status_code, answer.json()["errors"][0]["code"]) == (400, "unknown_object")


@pytest.mark.parametrize("query", ["?state=gone", "?client=anna", "?clients=x"])
def test_a_query_that_makes_no_sense_is_refused(cast: Cast, query: str) -> None:
    assert cast.api(cast.coach).get(f"{PATH}{query}").status_code == 400


def test_pages_follow_one_another_without_a_gap(cast: Cast) -> None:
    for days in range(5):
        _miss(cast, cast.anna, day=TUESDAY - timedelta(days=days))
    api = cast.api(cast.coach)
    seen, path = [], f"{PATH}?limit=2"
    while path:
        page = api.get(path).json()
        seen += [item["id"] for item in page["items"]]
        path = page["next"]
    assert len(seen) == len(set(seen)) == 5
    assert seen == [item["id"] for item in _items(api)]


def test_many_alerts_take_as_many_statements_as_one(cast: Cast) -> None:
    api = cast.api(cast.coach)
    _miss(cast, cast.anna)
    make_digests(cast.business_id, WEDNESDAY_AT_SEVEN + timedelta(days=1))
    one = statements_of(api, PATH)
    for days in range(1, 8):
        _miss(cast, cast.anna, cast.ben, day=TUESDAY - timedelta(days=days))
    assert len(_items(api)) == 15
    assert statements_of(api, PATH) == one
