"""The past of a log: what each correction replaced, when, and by whom."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.tenancy.scope import business_scope
from logs.models import CheckIn, SessionLog, SetLog
from tests.logs.logging import check_in, post, session, set_
from tests.scenario import Cast

PATHS = {"session-logs": SessionLog, "set-logs": SetLog, "check-ins": CheckIn}


def _log(cast: Cast) -> dict[str, str]:
    """Log one of each kind by an app, and correct each once by the app and once by the coach."""
    app = cast.key("logs:write", "logs:read")
    post(app, session_logs=[session(cast.anna)], set_logs=[set_(cast.anna)], check_ins=[check_in(cast.anna)])
    post(
        app,
        session_logs=[session(cast.anna, notes="one", revision=1)],
        set_logs=[set_(cast.anna, notes="one", revision=1)],
        check_ins=[check_in(cast.anna, notes="one", revision=1)],
    )
    with business_scope(cast.business_id):
        ids = {path: str(model.objects.get().id) for path, model in PATHS.items()}
    for path, log_id in ids.items():
        answer = cast.api(cast.coach).patch(
            f"/api/v1/{path}/{log_id}", {"notes": "two"}, format="json", HTTP_IF_MATCH="*"
        )
        assert answer.status_code == 200, answer.content
    return ids


def test_each_kind_of_log_tells_what_corrections_replaced_and_by_whom(cast: Cast) -> None:
    for path, log_id in _log(cast).items():
        told = cast.api(cast.coach).get(f"/api/v1/{path}/{log_id}/revisions").json()
        assert (told["row_version"], told["deleted_at"]) == (3, None)
        latest, first = told["items"]
        assert (latest["row_version"], latest["content"]["notes"], latest["replaced_by"]) == (
            2, "one", str(cast.coach.id),
        )  # fmt: skip
        assert (first["row_version"], first["content"]["notes"]) == (1, "")
        assert first["replaced_by"] not in {None, str(cast.coach.id)}
        assert first["replaced_at"] <= latest["replaced_at"]


@pytest.mark.parametrize("path", PATHS)
def test_of_a_deleted_log_only_that_it_was_is_left(cast: Cast, path: str) -> None:
    log_id, api = _log(cast)[path], cast.api(cast.coach)
    assert api.delete(f"/api/v1/{path}/{log_id}", HTTP_IF_MATCH="*").status_code == 204
    told: dict[str, Any] = api.get(f"/api/v1/{path}/{log_id}/revisions").json()
    assert told["deleted_at"] is not None
    assert told["items"] == []


def test_the_past_is_for_those_who_may_see_the_log_and_costs_two_reads(cast: Cast, neighbour: Cast) -> None:
    path = f"/api/v1/check-ins/{_log(cast)['check-ins']}/revisions"
    for api in (cast.api(cast.other_coach), cast.api(cast.viewer), neighbour.api(neighbour.owner)):
        assert api.get(path).status_code == 404
    assert cast.api(cast.client_member).get(path).status_code == 200
    owner = cast.api(cast.owner)
    with CaptureQueriesContext(connection) as few:
        owner.get(path)
    post(
        cast.key("logs:write"),
        check_ins=[check_in(cast.anna, sleep=number, revision=9 + number) for number in range(1, 7)],
    )
    with CaptureQueriesContext(connection) as many:
        assert len(owner.get(path).json()["items"]) == 8
    assert len(few) == len(many)
