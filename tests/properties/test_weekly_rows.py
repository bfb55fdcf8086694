"""However a history came about, its weekly rows are those of a full rebuild and of the pure reference."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
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
STATES = ["planned", "started", "done", "part_done", "done_late", "missed", "excused", "paused"]
CLASSES = {"A1": ["standard", "slow", "paused"], "B1": ["slow_paused"]}
TEMPOS = ([None] * 4, [None] * 4, [3, 1, 1, 0], [4, 0, -1, 2], [2, 2, 0, 1])
PLACES = (UUID(int=1), UUID(int=2))
EXERCISES = (
    {"key": "back-squat"},
    {"key": "leg-press", "loading": "plate_machine", "restful_end": "shortened"},
    {"key": "plank", "measure": "seconds", "restful_end": "lengthened"},
    {"key": "pull-up", "loading": "bodyweight", "bodyweight_share": Decimal("0.95"), "load_basis": "added"},
    {
        "key": "band-pull",
        "loading": "band",
        "load_basis": "added",
        "primary_muscles": ["lats", "biceps"],
        "secondary_muscles": ["biceps", "forearms"],
    },
)
CHANGES = ["session"] * 6 + ["sets"] * 3 + ["check_in"] * 4 + ["plan"] * 3
CHANGES += ["settle", "correct", "correct", "delete", "move", "refresh", "refresh"]


class History:
    """A business's logs as they come in, are corrected and deleted, each change marking what it touches."""

    def __init__(self, cast: Cast, dice: Random) -> None:
        self.dice = dice
        self.clients: list[Client] = [cast.anna, cast.ben]
        self.exercises = [histories.exercise(**fields) for fields in EXERCISES]
        self.plans = {client.id: histories.assignment(client) for client in self.clients}

    def mark(self, *dated: tuple[Client, date], checked_in: bool = False) -> None:
        days = {(client.id, day) for client, day in dated}
        mark_weeks_of_logs(
            performed=() if checked_in else days, checked_in=days if checked_in else (), week_start=0, now=NOON
        )

    def session(self) -> None:
        client, day = self.dice.choice(self.clients), self._day()
        named = list(PlannedSession.objects.filter(client=client).order_by("id"))
        times: dict[str, datetime] = {}
        if self.dice.random() < 0.5:
            started_at = histories.at(day, self.dice.randint(6, 20))
            length = timedelta(microseconds=self.dice.randint(-60_000_000, 12_000_000_000))
            times = {"started_at": started_at, "finished_at": started_at + length}
        log = histories.session(
            client,
            day,
            planned_session=self.dice.choice([None, *named]),
            session_rpe=self._maybe(Decimal(self.dice.randint(0, 20)) / 2),
            duration_min=self._maybe(Decimal(self.dice.randint(0, 20_000)) / 100),
            minutes_confirmed=self.dice.random() < 0.3,
            place_id=self.dice.choice([None, *PLACES]),
            **times,
        )
        self._sets_of(log)
        self._mark_log(log)

    def sets(self) -> None:
        log = self._one(SessionLog)
        if log is not None:
            self._sets_of(log)

    def check_in(self) -> None:
        client, day = self.dice.choice(self.clients), self._day()
        items = {name: self._maybe(self.dice.randint(1, 7)) for name in ("sleep", "fatigue", "stress", "soreness")}
        heart = {
            "resting_hr_bpm": self._maybe(self.dice.randint(40, 90)),
            "hrv_rmssd_ms": self._maybe(Decimal(self.dice.randint(0, 12_000)) / 100),
        }
        histories.check_in(client, day, bodyweight_kg=self._maybe(self._kg(400, 1600)), **items, **heart)
        self.mark((client, day), checked_in=True)

    def plan(self) -> None:
        client, day = self.dice.choice(self.clients), self._day()
        histories.planned(
            self.plans[client.id],
            day,
            state=self.dice.choice(STATES),
            planned_work_sets=self.dice.randint(0, 13),
            done_work_sets=self._maybe(self.dice.randint(0, 15)),
            deload=self.dice.random() < 0.2,
            slot_classes=CLASSES,
            planned_reps=self.dice.randint(0, 20),
            **self._asked(),
        )
        self.mark((client, day))

    def _asked(self) -> dict[str, Any]:
        """What the plan asks of three sets of A1 and one of B1; of a plan of before, nothing."""
        if self.dice.random() < 0.2:
            return {}
        slots = ["A1", "A1", "A1", "B1"]
        return {
            "set_slots": slots,
            "set_figures": [
                [*self.dice.choice(TEMPOS), self._maybe(self.dice.randint(1, 8)), self.dice.choice([1, 1, 2])]
                for _ in slots
            ],
            "set_loads_kg": [self.dice.choice([None, Decimal(0), self._kg(-100, 2000)]) for _ in slots],
        }

    def settle(self) -> None:
        row = self._one(PlannedSession)
        if row is not None:
            row.state = self.dice.choice(STATES)
            row.save()
            self.mark((row.client, row.local_date))

    def correct(self) -> None:
        row = self._one(SetLog)
        if row is not None:
            for name, value in self._set().items():
                setattr(row, name, value)
            row.save()
            self._mark_log(row.session_log)

    def delete(self) -> None:
        table = self.dice.choice([SessionLog, SetLog, CheckIn])
        row = self._one(table)
        if row is not None:
            row.deleted_at = NOON
            row.save()
            if table is CheckIn:
                self.mark((row.client, row.local_date), checked_in=True)
            else:
                self._mark_log(row if table is SessionLog else row.session_log)

    def move(self) -> None:
        """A correction gives a session, and so its sets, another date."""
        row = self._one(SessionLog)
        if row is not None:
            before, row.local_date = row.local_date, self._day()
            row.save()
            row.sets.update(local_date=row.local_date)
            self.mark((row.client, before))
            self._mark_log(row)

    def _sets_of(self, log: SessionLog) -> None:
        for _ in range(self.dice.randint(1, 5)):
            histories.performed(log, self.dice.choice(self.exercises), **self._set())
        self._mark_log(log)

    def _mark_log(self, log: SessionLog) -> None:
        """Mark the week of a session and the week of its plan, as intake does."""
        planned = log.planned_session
        days = [log.local_date] if planned is None else [log.local_date, planned.local_date]
        self.mark(*((log.client, day) for day in days))

    def _set(self) -> dict[str, Any]:
        pick = self.dice.choice
        effort = pick(["rpe", "in_reserve", "none"])
        return {
            "set_number": self.dice.randint(1, 3),
            "kind": pick(["work", "work", "work", "top", "drop", "to_limit", "warm_up", "technique"]),
            "side": pick(["both", "both", "left", "right"]),
            "outcome": pick(["done", "done", "done", "done", "failed", "skipped"]),
            "reps": self._maybe(self.dice.randint(0, 12)),
            "segments": pick([None, None, None, [], [self._segment() for _ in range(self.dice.randint(1, 3))]]),
            "load_kg": self._maybe(self._kg(-200, 2000)),
            "load_basis": pick(["total", "each_hand", "added", "added", "stack_label"]),
            "machine": pick(["", "", "", "left rack/2"]),
            "slot_key": pick(["", "A1", "B1"]),
            "tempo_class": pick(["", "", "standard", "slow", "assisted"]),
            "tempo": pick(["", "", "", "41X1", "30a2", "10-2-X-0", "3/0/12/1"]),
            "duration_s": self._maybe(Decimal(self.dice.randint(0, 9000)) / 100),
            "swapped": pick([None, None, {"from": "back-squat", "reason": ""}]),
            **pick([{}, {"phase_source": pick(["device", "video"]), "phase_s": self._phases()}]),
            "rpe": Decimal(self.dice.randint(10, 20)) / 2 if effort == "rpe" else None,
            "in_reserve": Decimal(self.dice.randint(0, 10)) / 2 if effort == "in_reserve" else None,
        }

    def _phases(self) -> dict[str, float]:
        phases = ("eccentric", "lengthened", "concentric", "shortened")
        return {phase: self.dice.choice([0, 0.5, 1.4999, 2.25, 3, 4.1]) for phase in phases if self.dice.random() < 0.9}

    def _segment(self) -> dict[str, Any]:
        load: dict[str, Any] = self.dice.choice([{}, {"load_kg": 40}, {"load_kg": 62.5}, {"load_kg": 41.27690567}])
        return {"reps": self.dice.choice([0, 0, 1, 3, 6]), **load}

    def _kg(self, low: int, high: int) -> Decimal:
        """Kilograms of either unit: a load of pounds has eight places."""
        tenths = Decimal(self.dice.randint(low, high)) / 10
        return self.dice.choice([tenths, (tenths * Decimal("0.45359237")).quantize(Decimal("1e-8"))])

    def _day(self) -> date:
        return FIRST + timedelta(days=self.dice.randrange(7 * WEEKS))

    def _maybe(self, value: Any) -> Any:
        return value if self.dice.random() < 0.8 else None

    def _one(self, table: Any) -> Any:
        rows = table.objects.order_by("id")
        found = list(rows.filter(deleted_at__isnull=True) if hasattr(table, "deleted_at") else rows)
        return self.dice.choice(found) if found else None


# A seed can't be shrunk to anything simpler.
@settings(
    max_examples=15, deadline=None, phases=[Phase.explicit, Phase.generate], suppress_health_check=list(HealthCheck)
)
@given(seed=st.integers(0, 2**32), changes=st.integers(5, 90))
@pytest.mark.django_db
def test_incremental_rows_equal_a_full_rebuild_and_the_reference(cast: Cast, seed: int, changes: int):
    dice = Random(seed)
    with discarded():
        with business_scope(cast.business_id):
            history = History(cast, dice)
        for change in dice.choices(CHANGES, k=changes):
            if change == "refresh":
                refresh_weeks(cast.business_id, NOON)
            else:
                with business_scope(cast.business_id):
                    getattr(history, change)()
        refresh_weeks(cast.business_id, NOON)
        with business_scope(cast.business_id):
            assert not StaleWeek.objects.exists()
            incremental = histories.rows_by_week()
            weeks = histories.weeks_around(FIRST - timedelta(days=7), WEEKS + 2)
            pairs = [(client.id, week) for client in history.clients for week in weeks]
            assert incremental == histories.reference_rows(pairs)
            ClientWeek.objects.all().delete()
        rebuild_weeks(cast.business_id, NOON)
        with business_scope(cast.business_id):
            assert histories.rows_by_week() == incremental


@contextmanager
def discarded() -> Iterator[None]:
    """Each example starts from the empty business and leaves it so."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
