"""Whatever happens to logs, plans, zones and policies: refreshed rows are those of a full rebuild and of the reference.

The real actions are taken, and nothing is marked but by them: a fact that changes a week without marking it shows.
"""

from collections import defaultdict
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from itertools import product
from typing import Any
from uuid import UUID

import orjson
import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    MultipleResults,
    RuleBasedStateMachine,
    initialize,
    multiple,
    rule,
    run_state_machine_as_test,
)

from coaching.actions.businesses import update_business
from coaching.actions.clients import update_client
from coaching.actions.places import create_place
from coaching.models import Absence, Business, StaleWeek
from coaching.policy import Principal, Scope
from coaching.refusals import Refusal
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.batch_records import record_log_batch
from logs.actions.log_deletions import delete_log
from logs.actions.weekly_progress import rebuild_weeks, refresh_weeks
from logs.api.batch_body import read_batch
from logs.models import CheckIn, ClientWeek, SessionLog, SetLog
from logs.selectors.client_weeks import list_weeks_with_facts
from programs.actions.absences import record_absence, remove_absence
from programs.actions.assignment_changes import shift_assignment
from programs.actions.assignment_pauses import pause_assignment, resume_assignment
from programs.actions.exercise_merges import merge_exercise
from programs.actions.exercises import change_exercise
from programs.actions.planned_sessions import change_planned_session
from programs.models import Assignment, PlannedSession
from tests.logs import histories, logging
from tests.programs.documents import acting, assign, content, published
from tests.programs.documents import sessions as sessions_of
from tests.scenario import Cast

NOW = datetime(2031, 3, 12, 9, tzinfo=UTC)
TODAY = date(2031, 3, 12)
EXERCISES = ("back-squat", "yard-squat", "yard-press", "pull-up", "plank")
ZONES = ("Europe/Paris", "America/Los_Angeles", "Pacific/Auckland", "Pacific/Honolulu")

days = st.integers(-20, 0).map(lambda ago: TODAY + timedelta(days=ago))
numbers = st.integers(0, 5)
set_fields = st.fixed_dictionaries(
    {
        "exercise": st.sampled_from(EXERCISES),
        "set_number": st.integers(1, 6),
        "kind": st.sampled_from(["work", "work", "warm_up", "to_limit"]),
        "slot": st.sampled_from(["A1", "A1", ""]),
        "side": st.sampled_from(["both", "both", "left", "right"]),
        "reps": st.integers(0, 12),
        "load_kg": st.sampled_from([0, 20, 77.5, 80, 81.25]),
        "tempo": st.sampled_from(["", "", "41X1", "2-0-10-0"]),
        "duration_s": st.sampled_from([None, 30, 41.5]),
        "outcome": st.sampled_from(["done", "done", "failed", "skipped"]),
    },
    optional={
        "in_reserve": st.sampled_from([0, 1.5, 5]),
        "machine": st.sampled_from(["north press"]),
        "phase_s": st.just({"eccentric": 2.25, "lengthened": 0.5, "concentric": 1.5, "shortened": 0}),
    },
)
_USUAL: dict[str, Any] = {
    "exercise": "back-squat",
    "slot": "A1",
    "side": "both",
    "reps": 5,
    "load_kg": 82.5,
    "in_reserve": 2,
    "phase_s": {"eccentric": 2.25, "lengthened": 0.5, "concentric": 1.5, "shortened": 0},
}
_PULL: dict[str, Any] = {
    "exercise": "pull-up",
    "side": "both",
    "reps": 6,
    "load_kg": 10,
    "tempo": "31X2",
    "in_reserve": 1,
}


class WeeklyHistory(RuleBasedStateMachine):
    """A business with two clients, their plans, and all that may happen to their weeks."""

    sessions = Bundle("sessions")

    def __init__(self, cast: Cast) -> None:
        super().__init__()
        self.cast = cast
        self.clients = [cast.anna, cast.ben]
        self.undone = transaction.atomic()
        self.undone.__enter__()
        self.logged = 0

    def teardown(self) -> None:
        """Look a last time, and take everything back: each example starts from the empty business."""
        try:
            self.refresh()
        finally:
            transaction.set_rollback(True)
            self.undone.__exit__(None, None, None)

    def happen(self, action: Callable[[], object]) -> None:
        """Take an action in the business; one that is refused changes nothing."""
        with business_scope(self.cast.business_id):
            try:
                with transaction.atomic():
                    action()
            except Refusal:
                return

    def post(self, **lists: Any) -> None:
        def posted() -> None:
            actor = Principal(
                kind="key",
                business_id=self.cast.business_id,
                credential_id=UUID(int=1),
                scopes=frozenset(Scope),
                source="app",
            )
            items = read_batch(orjson.dumps(lists)).items
            record_log_batch(actor=actor, source=None, items=items, strict=False, now=NOW)

        self.happen(posted)

    def some(self, rows: Any, number: int) -> Any:
        with business_scope(self.cast.business_id):
            found = list(rows())
        return found[number % len(found)] if found else None

    def begin(self) -> None:
        """Exercises of the business's own, a place, and a plan of four weeks that began two weeks ago."""

        def given() -> None:
            histories.exercise("yard-squat", restful_end="shortened")
            histories.exercise("yard-press", loading="stack", load_basis="stack_label")
            histories.exercise("plank", measure="seconds", loading="none")
            self.place = create_place(
                actor=acting(self.cast.coach), client_id=self.cast.anna.id, name="Yard", kind="gym"
            )
            version = published(content(weeks=4, days=2))
            for client, calendar, weekdays in zip(
                self.clients, ("fixed_days", "any_days_in_week"), ((0, 3), None), strict=True
            ):
                start = TODAY - timedelta(days=16)
                assign(
                    self.cast.coach,
                    version,
                    client.id,
                    calendar=calendar,
                    weekdays=weekdays,
                    start_date=start,
                    now=NOW - timedelta(days=16),
                )

        self.happen(given)
        with business_scope(self.cast.business_id):
            assert PlannedSession.objects.count() == 16

    @initialize(target=sessions)
    def train(self) -> MultipleResults[tuple[int, str]]:
        """Both have trained in each of three weeks, now as planned and now a week late, measured and not."""
        self.begin()
        names, lists = [], defaultdict[str, list[dict[str, Any]]](list)
        for client, week in product((0, 1), range(3)):
            self.logged += 1
            name, day = f"s{self.logged}", TODAY - timedelta(days=2 + 7 * week)
            names.append((client, name))
            planned = self.some(partial(sessions_of, self.clients[client].id), week)
            lists["session_logs"].append(
                logging.session(
                    self.clients[client],
                    name,
                    local_date=day.isoformat(),
                    duration_min=45 + week,
                    planned_session=str(planned.id) if week < 2 else None,
                )
            )
            lists["check_ins"].append(
                logging.check_in(
                    self.clients[client],
                    f"c{day}",
                    local_date=day.isoformat(),
                    bodyweight_kg=80,
                    resting_hr_bpm=50 + week,
                    hrv_rmssd_ms=60.5 + week,
                )
            )
            lists["set_logs"] += self.sets_of(client, name, [_USUAL | {"set_number": number} for number in (3, 4)])
            lists["set_logs"] += self.sets_of(client, name, [_PULL | {"set_number": number} for number in (1, 2)])
        self.post(**lists)
        return multiple(*names)

    @rule(
        target=sessions,
        client=st.integers(0, 1),
        day=days,
        fields=st.fixed_dictionaries(
            {
                "session_rpe": st.sampled_from([None, 6, 7.5]),
                "duration_min": st.sampled_from([None, 45, 200]),
                "minutes_confirmed": st.booleans(),
            }
        ),
        away=st.booleans(),
        sets=st.lists(set_fields, min_size=1, max_size=4),
    )
    def log_session(
        self, *, client: int, day: date, fields: dict[str, Any], away: bool, sets: list[dict[str, Any]]
    ) -> tuple[int, str]:
        self.logged += 1
        name = f"s{self.logged}"
        where = {"place": str(self.place.id)} if away and client == 0 else {}
        item = logging.session(self.clients[client], name, local_date=day.isoformat(), **fields, **where)
        self.post(session_logs=[item], set_logs=self.sets_of(client, name, sets))
        return client, name

    @rule(client=st.integers(0, 1), hours=st.integers(1, 400), sets=st.lists(set_fields, min_size=1, max_size=3))
    def log_on_the_clock(self, client: int, hours: int, sets: list[dict[str, Any]]) -> None:
        """A session without a date: its zone, at that instant, says which day it was."""
        self.logged += 1
        name, started_at = f"s{self.logged}", NOW - timedelta(hours=hours)
        item = logging.session(
            self.clients[client],
            name,
            started_at=started_at.isoformat(),
            finished_at=(started_at + timedelta(minutes=50)).isoformat(),
        )
        del item["local_date"]
        self.post(session_logs=[item], set_logs=self.sets_of(client, name, sets))

    def sets_of(self, client: int, name: str, sets: list[dict[str, Any]]) -> list[dict[str, Any]]:
        return [
            logging.set_(
                self.clients[client],
                f"{name}-{fields['set_number']}{fields['side']}",
                session_external_id=name,
                **{"load_kg": None, **fields},
                **({"phase_source": "device"} if "phase_s" in fields else {}),
            )
            for fields in sets
        ]

    def settle(self, fresh: bool) -> None:
        """Refresh first, so that nothing but what comes next can mark a week."""
        if fresh:
            refresh_weeks(self.cast.business_id, NOW)

    @rule(session=sessions, sets=st.lists(set_fields, min_size=1, max_size=4), fresh=st.booleans())
    def log_sets(self, session: tuple[int, str], sets: list[dict[str, Any]], fresh: bool) -> None:
        """New sets, corrections of earlier ones, and sets of a deleted session."""
        self.settle(fresh)
        self.post(set_logs=self.sets_of(*session, sets))

    @rule(session=sessions, day=days, minutes=st.sampled_from([30, 60, 190]), fresh=st.booleans())
    def correct_session(self, session: tuple[int, str], day: date, minutes: int, fresh: bool) -> None:
        self.settle(fresh)
        client, name = session
        self.logged += 1
        item = logging.session(
            self.clients[client], name, local_date=day.isoformat(), duration_min=minutes, revision=self.logged
        )
        self.post(session_logs=[item])

    @rule(
        client=st.integers(0, 1),
        day=days,
        kg=st.sampled_from([None, 80, 81.5]),
        hr=st.sampled_from([None, 52]),
        hrv=st.sampled_from([None, 0, 61.5]),
    )
    def check_in(self, client: int, day: date, kg: float | None, hr: int | None, hrv: float | None) -> None:
        item = logging.check_in(
            self.clients[client],
            f"c{day}",
            local_date=day.isoformat(),
            bodyweight_kg=kg,
            resting_hr_bpm=hr,
            hrv_rmssd_ms=hrv,
        )
        self.post(check_ins=[item])

    @rule(kind=st.sampled_from(["session_log", "set_log", "check_in"]), number=numbers, fresh=st.booleans())
    def delete(self, kind: Any, number: int, fresh: bool) -> None:
        self.settle(fresh)
        model: Any = {"session_log": SessionLog, "set_log": SetLog, "check_in": CheckIn}[kind]
        row = self.some(lambda: model.objects.filter(deleted_at__isnull=True).order_by("external_id"), number)
        if row:
            self.happen(
                lambda: delete_log(actor=acting(self.cast.coach), kind=kind, log_id=row.id, versions=None, now=NOW)
            )

    @rule(number=st.integers(0, 15), day=st.integers(-6, 6))
    def move(self, number: int, day: int) -> None:
        row = self.some(lambda: PlannedSession.objects.order_by("client_id", "week_number", "day_number"), number)
        self.happen(
            lambda: change_planned_session(
                actor=acting(self.cast.coach),
                planned_session_id=row.id,
                versions=None,
                local_date=TODAY + timedelta(days=day),
                now=NOW,
            )
        )

    @rule(number=st.integers(0, 15), state=st.sampled_from(["excused", "planned"]))
    def excuse(self, number: int, state: str) -> None:
        row = self.some(lambda: PlannedSession.objects.order_by("client_id", "week_number", "day_number"), number)
        self.happen(
            lambda: change_planned_session(
                actor=acting(self.cast.coach), planned_session_id=row.id, versions=None, state=state, now=NOW
            )
        )

    @rule(number=numbers, what=st.sampled_from(["pause", "resume", "shift"]), by=st.integers(-3, 3))
    def change_assignment(self, number: int, what: str, by: int) -> None:
        found = self.some(lambda: Assignment.objects.order_by("client_id"), number)
        actor, day = self.cast.coach, TODAY + timedelta(days=abs(by))
        changes: dict[str, Callable[[], object]] = {
            "pause": lambda: pause_assignment(actor=acting(actor), assignment_id=found.id, from_date=day, now=NOW),
            "resume": lambda: resume_assignment(actor=acting(actor), assignment_id=found.id, on=day, now=NOW),
            "shift": lambda: shift_assignment(
                actor=acting(actor), assignment_id=found.id, days=by, from_date=TODAY, now=NOW
            ),
        }
        self.happen(changes[what])

    @rule(number=numbers, day=days, length=st.integers(0, 9), back=st.booleans())
    def be_away(self, number: int, day: date, length: int, back: bool) -> None:
        if back:
            found = self.some(lambda: Absence.objects.order_by("starts_on"), number)
            if found:
                self.happen(
                    lambda: remove_absence(actor=acting(self.cast.coach), absence_id=found.id, versions=None, now=NOW)
                )
            return
        self.happen(
            lambda: record_absence(
                actor=acting(self.cast.coach),
                client_id=self.clients[number % 2].id,
                starts_on=day,
                ends_on=day + timedelta(days=length),
                kind="ill",
                now=NOW,
            )
        )

    @rule(client=st.integers(0, 1), zone=st.sampled_from(ZONES))
    def travel(self, client: int, zone: str) -> None:
        self.happen(
            lambda: update_client(
                actor=acting(self.cast.coach),
                client_id=self.clients[client].id,
                versions=None,
                now=NOW,
                time_zone=zone,
            )
        )

    @rule(week_start=st.integers(0, 6))
    def begin_weeks_on(self, week_start: int) -> None:
        self.happen(
            lambda: update_business(actor=acting(self.cast.owner), versions=None, now=NOW, week_start=week_start)
        )

    @rule(hour=st.integers(0, 6))
    def end_days_at(self, hour: int) -> None:
        self.happen(
            lambda: update_business(actor=acting(self.cast.owner), versions=None, now=NOW, day_ends_at=time(hour))
        )

    @rule(into=st.sampled_from(["back-squat", "pull-up"]))
    def merge(self, into: str) -> None:
        self.happen(lambda: merge_exercise(exercise="yard-squat", into=into, now=NOW))

    @rule(end=st.sampled_from(["none", "shortened", "lengthened"]), share=st.sampled_from(["0.5", "0.95"]))
    def tell_of_an_exercise(self, end: str, share: str) -> None:
        self.happen(
            lambda: change_exercise(
                exercise="pull-up",
                versions=None,
                changes={
                    "restful_end": end,
                    "rests_muscles": [] if end == "none" else ["lats"],
                    "bodyweight_share": share,
                },
                now=NOW,
            )
        )

    @rule()
    def notice_what_was_missed(self) -> None:
        detect_missed(self.cast.business_id, NOW)

    @rule()
    def refresh(self) -> None:
        """Refreshed rows, the reference, and a rebuild from nothing are the same."""
        refresh_weeks(self.cast.business_id, NOW)
        with business_scope(self.cast.business_id):
            assert not StaleWeek.objects.exists()
            incremental = histories.rows_by_week()
            week_start = Business.objects.get(id=self.cast.business_id).week_start
            weeks = list_weeks_with_facts(client_ids=[one.id for one in self.clients], week_start=week_start)
            assert incremental == histories.reference_rows(weeks)
            ClientWeek.objects.all().delete()
        rebuild_weeks(self.cast.business_id, NOW)
        with business_scope(self.cast.business_id):
            assert histories.rows_by_week() == incremental


@pytest.mark.django_db
def test_however_a_history_came_about_its_rows_are_those_of_a_rebuild_and_of_the_reference(cast: Cast) -> None:
    run_state_machine_as_test(
        lambda: WeeklyHistory(cast),
        settings=settings(
            max_examples=10,
            stateful_step_count=25,
            deadline=None,
            phases=[Phase.explicit, Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )
