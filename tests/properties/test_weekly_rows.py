"""However a history came about, its weekly rows are those of a full rebuild and of the pure reference."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import count

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coaching.models import Client, StaleWeek
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import mark_weeks_of_logs, rebuild_weeks, refresh_weeks
from logs.models import CheckIn, ClientWeek, SessionLog, SetLog
from programs.models import PlannedSession
from tests.logs import histories
from tests.logs.histories import MONDAY
from tests.scenario import NOON, Cast

WEEKS = 6
FIRST = MONDAY - timedelta(days=7 * (WEEKS - 1))
DAYS = st.integers(0, 7 * WEEKS - 1).map(lambda offset: FIRST + timedelta(days=offset))
LOADS = st.one_of(
    st.none(),
    st.decimals(-20, 300, places=4),
    # A load of pounds has eight places of kilograms.
    st.integers(1, 660).map(lambda half_lb: (Decimal("0.45359237") * half_lb / 2).quantize(Decimal("1e-8"))),
)
EFFORTS = st.one_of(
    st.just({}),
    st.integers(10, 20).map(lambda half: {"rpe": Decimal(half) / 2}),
    st.integers(0, 10).map(lambda half: {"in_reserve": Decimal(half) / 2}),
)
SEGMENTS = st.one_of(
    st.none(),
    st.none(),
    st.lists(
        st.fixed_dictionaries(
            {"reps": st.integers(0, 8)}, optional={"load_kg": st.sampled_from([40, 62.5, 41.27690567])}
        ),
        max_size=3,
    ),
)
SETS = st.fixed_dictionaries(
    {
        "set_number": st.integers(1, 3),
        "kind": st.sampled_from(["work", "work", "work", "top", "drop", "to_limit", "warm_up", "technique"]),
        "side": st.sampled_from(["both", "both", "left", "right"]),
        "outcome": st.sampled_from(["done", "done", "done", "failed", "skipped"]),
        "reps": st.one_of(st.none(), st.integers(0, 14)),
        "segments": SEGMENTS,
        "load_kg": LOADS,
        "load_basis": st.sampled_from(["total", "each_hand", "added", "added", "stack_label"]),
        "machine": st.sampled_from(["", "", "left rack/2"]),
        "slot_key": st.sampled_from(["", "A1", "B1"]),
        "tempo_class": st.sampled_from(["", "", "standard", "slow", "assisted"]),
    }
)
SESSIONS = st.fixed_dictionaries(
    {
        "session_rpe": st.one_of(st.none(), st.integers(0, 20).map(lambda half: Decimal(half) / 2)),
        "duration_min": st.one_of(st.none(), st.decimals(0, 200, places=2)),
    }
)
CLOCKS = st.one_of(st.none(), st.tuples(st.integers(6, 20), st.timedeltas(timedelta(minutes=-1), timedelta(hours=4))))
CHECK_INS = st.fixed_dictionaries(
    {
        **dict.fromkeys(("sleep", "fatigue", "stress", "soreness"), st.one_of(st.none(), st.integers(1, 7))),
        "bodyweight_kg": st.one_of(st.none(), st.decimals(40, 160, places=4)),
    }
)
STATES = ["planned", "started", "done", "part_done", "done_late", "missed", "excused", "paused"]
CLASSES = {"A1": ["standard", "slow", "paused"], "B1": ["slow_paused"]}
EXERCISES = (
    {"key": "back-squat"},
    {"key": "pull-up", "loading": "bodyweight", "bodyweight_share": Decimal("0.95"), "load_basis": "added"},
    {
        "key": "band-pull",
        "loading": "band",
        "load_basis": "added",
        "primary_muscles": ["lats", "biceps"],
        "secondary_muscles": ["biceps", "forearms"],
    },
)
CHANGES = st.sampled_from(
    ["session", "session", "sets", "sets", "sets", "check_in", "plan", "settle", "correct", "delete", "move", "refresh"]
)


class History:
    """A business's logs as they come in, are corrected and deleted, each change marking what it touches."""

    def __init__(self, cast: Cast, data: st.DataObject) -> None:
        self.draw = data.draw
        self.clients: list[Client] = [cast.anna, cast.ben]
        self.exercises = [histories.exercise(**fields) for fields in EXERCISES]
        self.plans = {client.id: histories.assignment(client) for client in self.clients}

    def mark(self, *dated: tuple[Client, date], checked_in: bool = False) -> None:
        days = {(client.id, day) for client, day in dated}
        mark_weeks_of_logs(
            performed=() if checked_in else days, checked_in=days if checked_in else (), week_start=0, now=NOON
        )

    def session(self) -> None:
        client, day = self.draw(st.sampled_from(self.clients)), self.draw(DAYS)
        clock, named = self.draw(CLOCKS), list(PlannedSession.objects.filter(client=client))
        times: dict[str, datetime] = {}
        if clock is not None:
            started_at = histories.at(day, clock[0])
            times = {"started_at": started_at, "finished_at": started_at + clock[1]}
        of = self.draw(st.sampled_from([None, *named]))
        log = histories.session(client, day, planned_session=of, **times, **self.draw(SESSIONS))
        self.mark((client, log.local_date))
        self._sets_of(log)

    def sets(self) -> None:
        logs = list(SessionLog.objects.filter(deleted_at__isnull=True).order_by("id"))
        if logs:
            self._sets_of(self.draw(st.sampled_from(logs)))

    def _sets_of(self, log: SessionLog) -> None:
        for fields in self.draw(st.lists(SETS, min_size=1, max_size=4)):
            of = self.draw(st.sampled_from(self.exercises))
            histories.performed(log, of, **fields, **self.draw(EFFORTS))
        self.mark((log.client, log.local_date))

    def check_in(self) -> None:
        client, day = self.draw(st.sampled_from(self.clients)), self.draw(DAYS)
        histories.check_in(client, day, **self.draw(CHECK_INS))
        self.mark((client, day), checked_in=True)

    def plan(self) -> None:
        client, day = self.draw(st.sampled_from(self.clients)), self.draw(DAYS)
        histories.planned(
            self.plans[client.id],
            day,
            state=self.draw(st.sampled_from(STATES)),
            planned_work_sets=self.draw(st.integers(0, 13)),
            done_work_sets=self.draw(st.one_of(st.none(), st.integers(0, 15))),
            deload=self.draw(st.booleans()),
            slot_classes=CLASSES,
        )
        self.mark((client, day))

    def settle(self) -> None:
        row = self._one(PlannedSession.objects.order_by("id"))
        if row is not None:
            row.state = self.draw(st.sampled_from(STATES))
            row.save()
            self.mark((row.client, row.local_date))

    def correct(self) -> None:
        row = self._one(SetLog.objects.filter(deleted_at__isnull=True).order_by("id"))
        if row is not None:
            for name, value in self.draw(SETS).items():
                setattr(row, name, value)
            row.save()
            self.mark((row.client, row.local_date))

    def delete(self) -> None:
        table = self.draw(st.sampled_from([SessionLog, SetLog, CheckIn]))
        row = self._one(table.objects.filter(deleted_at__isnull=True).order_by("id"))
        if row is not None:
            row.deleted_at = NOON
            row.save()
            self.mark((row.client, row.local_date), checked_in=table is CheckIn)

    def move(self) -> None:
        """A correction gives a session, and so its sets, another date."""
        row = self._one(SessionLog.objects.filter(deleted_at__isnull=True).order_by("id"))
        if row is not None:
            before, row.local_date = row.local_date, self.draw(DAYS)
            row.save()
            row.sets.update(local_date=row.local_date)
            self.mark((row.client, before), (row.client, row.local_date))

    def _one(self, rows):
        found = list(rows)
        return self.draw(st.sampled_from(found)) if found else None


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
@pytest.mark.django_db
def test_incremental_rows_equal_a_full_rebuild_and_the_reference(cast: Cast, data: st.DataObject):
    # Each example starts from the empty business and leaves it so.
    sandbox = transaction.atomic()
    sandbox.__enter__()
    try:
        with business_scope(cast.business_id):
            history = History(cast, data)
        for change in data.draw(st.lists(CHANGES, min_size=3, max_size=25)):
            if change == "refresh":
                refresh_weeks(cast.business_id, NOON)
            else:
                with business_scope(cast.business_id):
                    getattr(history, change)()
        rounds = count()
        while refresh_weeks(cast.business_id, NOON):
            assert next(rounds) < 10
        with business_scope(cast.business_id):
            assert not StaleWeek.objects.exists()
            incremental = histories.rows_by_week()
            weeks = [
                (client.id, week)
                for client in history.clients
                for week in histories.weeks_around(FIRST - timedelta(days=7), WEEKS + 2)
            ]
            assert incremental == histories.reference_rows(weeks)
            ClientWeek.objects.all().delete()
        rebuild_weeks(cast.business_id, NOON)
        with business_scope(cast.business_id):
            assert histories.rows_by_week() == incremental
    finally:
        transaction.set_rollback(True)
        sandbox.__exit__(None, None, None)
