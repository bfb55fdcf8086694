"""However a client's logs came about, their pace is that of the pure function over all that they have done."""

from datetime import timedelta
from random import Random
from typing import Any

from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.session_paces import push_session_paces
from logs.analysis.facts import SessionFact
from logs.analysis.session_pace import PlannedPerformance, session_pace
from logs.models import SessionLog
from programs.models import PlannedSession, SessionPace
from programs.prescription.session_pace import ClientPace
from tests.logs import histories
from tests.planned_sessions import plan_session
from tests.scenario import Cast

STATES = ["done"] * 5 + ["done_late", "part_done", "missed", "planned", "started"]


def live(client: Client, dice: Random) -> None:
    """Plan up to thirty sessions, some done, each with up to two logs whose minutes may be known."""
    for number in range(dice.randint(0, 26)):
        day = histories.MONDAY + timedelta(days=dice.randint(0, 60))
        row = plan_session(client, day, state=dice.choice(STATES), title=f"Day {number}")
        for _ in range(dice.choice([0, 1, 1, 1, 2])):
            started_at = histories.at(day, 9)
            times: dict[str, Any] = {
                "started_at": started_at,
                "finished_at": started_at + timedelta(seconds=dice.randint(-500, 9_000)),
            }
            histories.session(
                client,
                day,
                planned_session=row,
                duration_min=dice.choice([None, dice.randint(0, 120)]),
                minutes_confirmed=dice.random() < 0.2,
                **(times if dice.random() < 0.5 else {}),
            )
    for log in SessionLog.objects.filter(client=client):
        if dice.random() < 0.1:
            SessionLog.objects.filter(id=log.id).update(deleted_at=histories.at(histories.MONDAY, 8))


def expected(client: Client) -> ClientPace:
    rows = PlannedSession.objects.filter(client=client, state__in=["done", "done_late"])
    named = ("session_id", "local_date", "duration_min", "started_at", "finished_at", "minutes_confirmed")
    performances = []
    for row in rows:
        logs = [
            SessionFact(**{name: getattr(log, name, "") for name in named}, planned_high_min=row.planned_high_min)
            for log in SessionLog.objects.filter(planned_session=row, deleted_at__isnull=True)
        ]
        if logs:
            performances.append(
                PlannedPerformance(
                    planned_session_id=str(row.id),
                    local_date=row.local_date,
                    planned_low_min=row.planned_low_min,
                    planned_high_min=row.planned_high_min,
                    logs=tuple(logs),
                )
            )
    return session_pace(performances)


@settings(
    max_examples=12,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(seed=st.integers(0, 10**9))
def test_what_is_stored_is_what_the_pure_function_gives(cast: Cast, seed: int) -> None:
    dice, clients = Random(seed), [cast.anna, cast.ben]
    with business_scope(cast.business_id), transaction.atomic():
        for _ in range(2):
            for client in clients:
                live(client, dice)
            push_session_paces(client_ids=[client.id for client in clients])
            found = {
                row.client_id: ClientPace(ratio=row.ratio, sessions=row.sessions, last_on=row.last_on)
                for row in SessionPace.objects.all()
            }
            assert found == {client.id: pace for client in clients if (pace := expected(client)).sessions}
        transaction.set_rollback(True)
