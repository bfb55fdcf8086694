"""A client whose sessions take longer than planned: after six of them the plan says so beside its own minutes."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching import registry
from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.session_paces import push_session_paces
from logs.actions.weekly_progress import rebuild_weeks
from logs.models import SessionLog
from programs.models import PlannedSession, SessionPace
from tests.logs.logging import post, session
from tests.programs.documents import assign, content, published, sessions
from tests.scenario import NOON, Cast

LATER = NOON + timedelta(days=40)


@pytest.fixture(autouse=True)
def _later() -> Iterator[None]:
    with time_machine.travel(LATER, tick=False):
        yield


def planned(cast: Cast, *clients: Client) -> list[PlannedSession]:
    """Give Anna, or the clients, nine sessions; return all of Anna's."""
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=3)), *(client.id for client in clients or (cast.anna,)))
        return sessions(cast.anna.id)


def minutes_of(row: PlannedSession, ratio: float) -> float:
    return round(float(row.planned_low_min + row.planned_high_min) / 2 * ratio, 2)


def done(cast: Cast, row: PlannedSession, ratio: float = 1.2, **more: Any) -> dict[str, Any]:
    """A log of a planned session that took so many times its planned minutes."""
    minutes = {"duration_min": minutes_of(row, ratio), "planned_session": str(row.id)}
    return session(cast.anna, f"s-{row.id}", local_date=str(row.local_date), **(minutes | more))


def dispatch(cast: Cast) -> None:
    for job in registry.dispatch_jobs:
        while job.run(cast.business_id, LATER):
            pass


def log(cast: Cast, *logs: dict[str, Any]) -> None:
    answer = post(cast.key("logs:write"), session_logs=list(logs))
    assert answer["summary"]["refused"] == 0, answer
    dispatch(cast)


def card(cast: Cast, row: PlannedSession, accept: str = "application/json") -> Any:
    return cast.api(cast.client_member).get(f"/api/v1/planned-sessions/{row.id}/card", headers={"Accept": accept})


def pace_of(cast: Cast) -> dict[str, Any]:
    answer = cast.api(cast.coach).get(f"/api/v1/clients/{cast.anna.id}/session-pace")
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def stored(cast: Cast) -> list[tuple[Any, ...]]:
    with business_scope(cast.business_id):
        return list(SessionPace.objects.order_by("client_id").values_list("client_id", "ratio", "sessions", "last_on"))


def test_six_sessions_logged_and_the_card_says_how_long_it_takes_this_client(cast: Cast) -> None:
    rows = planned(cast)
    log(cast, *(done(cast, row) for row in rows[:6]))
    to_come = rows[8]
    about = round(minutes_of(to_come, 1.2))
    said = f"at this client's usual pace about {about} min, from 6 sessions"
    shown = card(cast, to_come).json()
    low, high = round(to_come.planned_low_min), round(to_come.planned_high_min)
    planned_words = f"planned {low} min" if low == high else f"planned {low}–{high} min"  # noqa: RUF001 -- a range
    assert shown["pace"]["words"] == f"{planned_words}; {said}"
    # The timeline itself stays as it is simulated.
    assert shown["timeline"]["high_min"] == float(to_come.planned_high_min)
    assert f"A{said[1:]}" in card(cast, to_come, "text/html").content.decode().replace("&#x27;", "'")
    assert card(cast, to_come, "application/pdf").content.startswith(b"%PDF")
    read = cast.api(cast.client_member).get(f"/api/v1/planned-sessions/{to_come.id}").json()
    assert read["pace"] == shown["pace"]
    listed = cast.api(cast.coach).get(f"/api/v1/planned-sessions?client={cast.anna.id}&limit=50").json()["items"]
    assert {item["pace"]["sessions"] for item in listed} == {6}
    assert pace_of(cast)["ratio"] == pytest.approx(1.2, abs=0.001)


def test_five_sessions_say_nothing_but_why(cast: Cast) -> None:
    rows = planned(cast)
    log(cast, *(done(cast, row) for row in rows[:5]))
    pace = card(cast, rows[8]).json()["pace"]
    assert (pace["minutes"], pace["words"], pace["sessions"]) == (None, "", 5)
    assert pace["reason"].endswith("5 are so far.")
    assert "usual pace" not in card(cast, rows[8], "text/html").content.decode()
    assert pace_of(cast)["reason"] == pace["reason"]


def test_sessions_cut_short_extra_ones_and_unknown_minutes_are_not_counted(cast: Cast) -> None:
    rows = planned(cast)
    log(
        cast,
        *(done(cast, row) for row in rows[:5]),
        done(cast, rows[5], cut_reason="time"),
        done(cast, rows[6], duration_min=None),
        done(cast, rows[7], ratio=2.5),
        session(cast.anna, "extra", local_date=str(rows[0].local_date - timedelta(days=9)), duration_min=40),
    )
    assert pace_of(cast)["sessions"] == 5


def test_late_corrected_and_deleted_logs_change_it_and_a_rebuild_gives_the_same(cast: Cast) -> None:
    rows = planned(cast)
    log(cast, *(done(cast, row) for row in rows[:6]))
    log(cast, done(cast, rows[6], ratio=1.0))
    assert pace_of(cast)["sessions"] == 7
    log(cast, *(done(cast, row, ratio=0.9, revision=1) for row in rows[:4]))
    assert pace_of(cast)["ratio"] == pytest.approx(0.9, abs=0.001)
    with business_scope(cast.business_id):
        last = SessionLog.objects.get(planned_session_id=rows[6].id).id
    gone = cast.api(cast.coach).delete(f"/api/v1/session-logs/{last}", HTTP_IF_MATCH="*")
    assert gone.status_code in {200, 204}, gone.content
    dispatch(cast)
    before = stored(cast)
    assert pace_of(cast)["sessions"] == 6
    with business_scope(cast.business_id):
        SessionPace.objects.all().delete()
    rebuild_weeks(cast.business_id, LATER)
    assert stored(cast) == before


def test_a_client_whose_logs_are_all_deleted_has_no_pace(cast: Cast) -> None:
    rows = planned(cast)
    log(cast, done(cast, rows[0]))
    assert len(stored(cast)) == 1
    with business_scope(cast.business_id):
        log_id = SessionLog.objects.get().id
    cast.api(cast.coach).delete(f"/api/v1/session-logs/{log_id}", HTTP_IF_MATCH="*")
    dispatch(cast)
    assert stored(cast) == []
    assert pace_of(cast)["reason"].endswith("no session is so far.")


def test_an_assignment_is_held_against_the_clients_minutes_at_their_pace_too(cast: Cast) -> None:
    rows = planned(cast)
    log(cast, *(done(cast, row, ratio=1.5) for row in rows[:6]))
    high = float(rows[0].planned_high_min)
    with business_scope(cast.business_id):
        Client.objects.update(session_min=round(high) + 1)
        version = published(content(weeks=1))
        anna, ben = assign(
            cast.coach, version, cast.anna.id, cast.ben.id, start_date=LATER.date() + timedelta(days=5), now=LATER
        )
    assert [warning.code for warning in anna.warnings] == ["too_long_at_pace"]
    assert f"about {round(minutes_of(rows[0], 1.5))} min" in anna.warnings[0].detail
    assert ben.warnings == ()


def test_an_analysis_for_the_client_shows_their_pace_beside_the_timeline(cast: Cast) -> None:
    rows = planned(cast)
    log(cast, *(done(cast, row) for row in rows[:6]))
    body: dict[str, Any] = {"text": "Back squat 4 x 5, rest 180s", "client": str(cast.anna.id)}
    found = cast.api(cast.coach).post("/api/v1/prescriptions/analyse", body, format="json").json()
    assert found["pace"]["minutes"] > found["timeline"]["high_min"]
    alone = cast.api(cast.coach).post("/api/v1/prescriptions/analyse", {"text": body["text"]}, format="json").json()
    assert alone["pace"] is None


def test_many_clients_take_as_many_statements_as_one(cast: Cast) -> None:
    rows = planned(cast, cast.anna, cast.ben, cast.carl)
    log(cast, *(done(cast, row) for row in rows[:6]))
    counts = []
    with business_scope(cast.business_id):
        for clients in ([cast.anna.id], [cast.anna.id, cast.ben.id, cast.carl.id]):
            with CaptureQueriesContext(connection) as captured:
                push_session_paces(client_ids=clients)
            counts.append(len(captured))
    # What the paces are found from, and those found; the clients without sessions are forgotten by a third.
    assert counts == [2, 3]


def test_the_pace_is_the_clients_own_affair(cast: Cast, neighbour: Cast) -> None:
    where = f"/api/v1/clients/{cast.anna.id}/session-pace"
    assert cast.api(cast.client_member).get(where).status_code == 200
    assert cast.key("progress:read").get(where).status_code == 200
    assert cast.key("logs:write").get(where).status_code == 403
    assert cast.api(cast.other_coach).get(where).status_code == 404
    assert neighbour.api(neighbour.owner).get(where).status_code == 404
