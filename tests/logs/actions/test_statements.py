"""A batch runs as many statements for 10 items as for 5,000."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.logs.logging import BATCHES, check_in, days_from, plan, session, set_


def batch(cast, sets, *, month, reps=6):
    clients = [cast.anna, cast.ben, cast.carl]
    sessions = max(1, sets // 16)
    return {
        "session_logs": [
            session(clients[number % 3], f"s{number}-of-{sets}", local_date=f"2026-{month:02}-{number % 28 + 1:02}")
            for number in range(sessions)
        ],
        "set_logs": [
            set_(
                clients[number % sessions % 3],
                f"{number}-of-{sets}",
                session_external_id=f"s{number % sessions}-of-{sets}",
                set_number=number // sessions % 100 + 1,
                reps=reps,
                exercise=("back-squat", "bench-press", "pull-up")[number % 3],
            )
            for number in range(sets)
        ],
        "check_ins": [check_in(cast.anna, f"c{number}-of-{sets}") for number in range(max(1, sets // 100))],
    }


def statements(api, body):
    with CaptureQueriesContext(connection) as captured:
        answer = api.post(BATCHES, body, format="json")
    assert answer.status_code == 200
    assert answer.json()["summary"]["refused"] == 0
    return len(captured)


@pytest.mark.parametrize("kind", ["created", "unchanged", "corrected"])
def test_the_number_of_statements_does_not_grow_with_the_batch(cast, kind):
    api = cast.key("logs:write")
    # The key's first use is noted once, by statements of its own.
    api.post(BATCHES, {}, format="json")
    counts = set()
    for month, sets in enumerate((10, 500, 4_600), start=1):
        plan(cast, cast.anna, *days_from(date(2026, month, 1), 28))
        if kind != "created":
            api.post(BATCHES, batch(cast, sets, month=month), format="json")
        counts.add(statements(api, batch(cast, sets, month=month, reps=7 if kind == "corrected" else 6)))
    assert len(counts) == 1
    assert counts.pop() < 60
