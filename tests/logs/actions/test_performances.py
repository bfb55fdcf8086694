"""What a planned session is told of its logs does not hang on how their rows lie."""

from datetime import date
from itertools import permutations

import pytest

from coaching.tenancy.scope import business_scope
from programs.models import PlannedSession
from tests.logs.logging import plan, post, session

MONDAY = date(2026, 3, 2)


@pytest.mark.parametrize("order", list(permutations(("morning", "noon", "evening"))))
def test_the_reason_shown_is_that_of_the_earliest_log_whichever_came_first(cast, order):
    app = cast.key("logs:write")
    (monday,) = plan(cast, cast.anna, MONDAY)
    hours = {"morning": "06", "noon": "12", "evening": "18"}
    for name in order:
        post(
            app,
            session_logs=[
                session(
                    cast.anna,
                    # The names' own order is another.
                    {"morning": "z", "noon": "y", "evening": "x"}[name],
                    local_date=str(MONDAY),
                    planned_session=monday,
                    started_at=f"2026-03-02T{hours[name]}:00:00Z",
                    cut_reason=name,
                )
            ],
        )
    with business_scope(cast.business_id):
        assert PlannedSession.objects.get(id=monday).cut_reason == "morning"
