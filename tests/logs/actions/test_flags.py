"""Flags: what opens, updates and closes them, by facts and by time."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from threading import Barrier, Thread
from typing import Any

import pytest
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext

from coaching.models import Absence, Client, Role
from coaching.policy import Principal
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from logs.actions.flags import acknowledge_flag, evaluate_flags, flags_of_the_day, resolve_flag
from logs.actions.weekly_progress import mark_weeks_of_logs, refresh_weeks, store_client_weeks
from logs.models import CheckIn, Flag
from tests.logs import histories
from tests.logs.histories import MONDAY
from tests.scenario import NOON, Cast, build_business

TODAY = NOON.date()
DAY = timedelta(days=1)
WEEK = timedelta(days=7)
SHOULDER = {"site": "shoulder", "side": "left", "score": 7, "when": "during", "onset": "known", "exercise": None}


def evaluated(cast: Cast, client: Client, now: datetime = NOON) -> None:
    """Ask the rules about a client, as a refresh does."""
    with business_scope(cast.business_id):
        evaluate_flags(client_ids=[client.id], now=now)


def flags(cast: Cast, **filters: Any) -> list[Flag]:
    with business_scope(cast.business_id):
        return list(Flag.objects.filter(**filters).order_by("opened_at", "id"))


def actor(cast: Cast) -> Principal:
    return Principal(
        kind="person",
        business_id=cast.business_id,
        credential_id=new_id(),
        role=Role.COACH,
        membership_id=cast.coach.id,
    )


def resolved(cast: Cast, flag: Flag, now: datetime = NOON) -> None:
    with business_scope(cast.business_id):
        resolve_flag(actor=actor(cast), flag_id=flag.id, resolution="Seen by a doctor.", now=now)


def checked_in(cast: Cast, client: Client, day: date = TODAY, **fields: Any) -> CheckIn:
    with business_scope(cast.business_id):
        return histories.check_in(client, day, **fields)


class TestSigns:
    """Symptoms and pain: closed only by a person."""

    def test_a_symptom_on_a_set_opens_a_stop_at_the_refresh(self, cast: Cast):
        with business_scope(cast.business_id):
            session = histories.session(cast.anna, TODAY)
            histories.performed(session, histories.exercise("back-squat"), symptoms=["dizziness"])
            mark_weeks_of_logs(performed=[(cast.anna.id, TODAY)], week_start=0, now=NOON)
        refresh_weeks(cast.business_id, NOON)
        (flag,) = flags(cast)
        assert (flag.client_id, flag.kind, flag.scope) == (cast.anna.id, "symptom", "all")
        assert (flag.severity, flag.action, flag.state) == ("stop", "stop_training", "open")
        assert flag.figures["symptoms"] == ["dizziness"]
        assert flag.rule
        assert flag.source
        assert "Stop training now" in flag.caution

    def test_asking_again_opens_it_once_and_changes_nothing(self, cast: Cast):
        checked_in(cast, cast.anna, symptoms=["dizziness"])
        evaluated(cast, cast.anna)
        evaluated(cast, cast.anna, NOON + timedelta(minutes=1))
        (flag,) = flags(cast)
        assert (flag.row_version, flag.updated_at) == (1, NOON)

    def test_it_stands_although_its_report_is_deleted(self, cast: Cast):
        report = checked_in(cast, cast.anna, symptoms=["dizziness"])
        evaluated(cast, cast.anna)
        with business_scope(cast.business_id):
            CheckIn.objects.filter(id=report.id).update(deleted_at=NOON, symptoms=[])
        evaluated(cast, cast.anna)
        assert [flag.state for flag in flags(cast)] == ["open"]

    def test_it_is_heard_during_an_absence_too(self, cast: Cast):
        with business_scope(cast.business_id):
            Absence.objects.create(client=cast.anna, starts_on=TODAY - DAY, ends_on=TODAY + WEEK, kind="holiday")
        checked_in(cast, cast.anna, symptoms=["chest_pain"])
        evaluated(cast, cast.anna)
        assert [flag.kind for flag in flags(cast)] == ["symptom"]

    def test_resolved_it_stays_closed_until_another_report_comes(self, cast: Cast):
        checked_in(cast, cast.anna, symptoms=["dizziness"])
        evaluated(cast, cast.anna)
        resolved(cast, flags(cast)[0])
        evaluated(cast, cast.anna, NOON + DAY)
        assert [flag.state for flag in flags(cast)] == ["resolved"]
        checked_in(cast, cast.anna, symptoms=["fainting"])
        evaluated(cast, cast.anna, NOON + DAY)
        first, second = flags(cast)
        assert (first.state, second.state) == ("resolved", "open")
        assert second.figures["symptoms"] == ["fainting"]

    def test_a_correction_of_anything_but_the_symptoms_is_no_new_evidence(self, cast: Cast):
        report = checked_in(cast, cast.anna, symptoms=["dizziness"])
        evaluated(cast, cast.anna)
        resolved(cast, flags(cast)[0])
        with business_scope(cast.business_id):
            CheckIn.objects.filter(id=report.id).update(notes="In the morning.", row_version=2)
        evaluated(cast, cast.anna, NOON + DAY)
        assert len(flags(cast)) == 1

    def test_strong_pain_stops_the_movement_at_its_site(self, cast: Cast):
        checked_in(cast, cast.anna, pains=[SHOULDER | {"exercise": "bench-press"}])
        evaluated(cast, cast.anna)
        (flag,) = flags(cast)
        assert (flag.kind, flag.scope, flag.action) == ("pain", "region:shoulder:left", "stop_movement")
        assert flag.figures["exercises"] == ["bench-press"]

    def test_acknowledged_pain_opens_again_when_another_is_reported(self, cast: Cast):
        checked_in(cast, cast.anna, pains=[SHOULDER])
        evaluated(cast, cast.anna)
        with business_scope(cast.business_id):
            acknowledge_flag(actor=actor(cast), flag_id=Flag.objects.get().id, now=NOON)
        evaluated(cast, cast.anna)
        assert [flag.state for flag in flags(cast)] == ["acknowledged"]
        checked_in(cast, cast.anna, pains=[SHOULDER | {"score": 8}])
        evaluated(cast, cast.anna)
        (flag,) = flags(cast)
        assert (flag.state, flag.figures["worst_score"]) == ("open", 8)


class TestAttendance:
    """Sessions missed and silence."""

    def _missed(self, cast: Cast, *days: date, calendar: str = "fixed_days", state: str = "missed") -> None:
        with business_scope(cast.business_id):
            given = histories.assignment(cast.anna, calendar=calendar, start_date=MONDAY - 8 * WEEK)
            for day in days:
                histories.planned(given, day, state=state)

    def test_two_missed_running_open_a_flag_and_the_next_done_closes_it(self, cast: Cast):
        self._missed(cast, TODAY - 4 * DAY, TODAY - 2 * DAY)
        evaluated(cast, cast.anna)
        (flag,) = flags(cast, kind="missed_in_a_row")
        assert (flag.action, flag.figures["missed_sessions"]) == ("contact", 2)
        self._missed(cast, TODAY - DAY, state="done")
        evaluated(cast, cast.anna)
        (flag,) = flags(cast, kind="missed_in_a_row")
        assert (flag.state, flag.closed_at) == ("closed", NOON)
        assert "2 planned sessions missed" in flag.sentence

    def test_a_third_missed_updates_the_one_flag(self, cast: Cast):
        self._missed(cast, TODAY - 4 * DAY, TODAY - 2 * DAY)
        evaluated(cast, cast.anna)
        self._missed(cast, TODAY - DAY)
        evaluated(cast, cast.anna, NOON + DAY)
        (flag,) = flags(cast, kind="missed_in_a_row")
        assert (flag.row_version, flag.figures["missed_sessions"], flag.figures["escalate"]) == (2, 3, "yes")

    def test_sessions_missed_on_days_away_count_for_nothing(self, cast: Cast):
        with business_scope(cast.business_id):
            Absence.objects.create(client=cast.anna, starts_on=TODAY - 5 * DAY, ends_on=TODAY, kind="holiday")
        self._missed(cast, TODAY - 4 * DAY, TODAY - 2 * DAY)
        evaluated(cast, cast.anna)
        assert flags(cast) == []

    def test_a_floating_week_counts_once_it_is_over(self, cast: Cast):
        with business_scope(cast.business_id):
            given = histories.assignment(cast.anna, calendar="any_days_in_week", start_date=MONDAY - 2 * WEEK)
            for week in (MONDAY - 2 * WEEK, MONDAY - WEEK):
                for state in ("done", "missed", "missed"):
                    end = week + 6 * DAY
                    histories.planned(given, end, window_start=week, window_end=end, state=state)
            histories.check_in(cast.anna, TODAY)
        evaluated(cast, cast.anna, NOON - 3 * DAY)
        assert flags(cast, kind="missed_in_a_row") == []
        evaluated(cast, cast.anna)
        (flag,) = flags(cast, kind="missed_in_a_row")
        assert flag.figures["floating_weeks_under_half"] == 2

    def test_silence_opens_a_flag_by_the_passing_of_days_alone(self, cast: Cast):
        with business_scope(cast.business_id):
            histories.assignment(cast.anna, start_date=MONDAY - 8 * WEEK)
            for days in (9, 7, 5):
                histories.check_in(cast.anna, TODAY - days * DAY)
        flags_of_the_day(cast.business_id, NOON - DAY)
        assert flags(cast) == []
        flags_of_the_day(cast.business_id, NOON)
        (flag,) = flags(cast)
        assert (flag.kind, flag.figures["silent_days"], flag.figures["case"]) == ("gone_quiet", 4, "gone_quiet")
        flags_of_the_day(cast.business_id, NOON + DAY)
        (flag,) = flags(cast)
        assert (flag.state, flag.figures["silent_days"]) == ("open", 5)

    def test_a_long_silence_is_told_from_never_having_started(self, cast: Cast):
        with business_scope(cast.business_id):
            histories.assignment(cast.anna, start_date=MONDAY - 30 * WEEK)
            histories.check_in(cast.anna, MONDAY - 29 * WEEK)
            histories.assignment(cast.ben, start_date=MONDAY - WEEK)
        flags_of_the_day(cast.business_id, NOON)
        assert {flag.client_id: flag.figures["case"] for flag in flags(cast)} == {
            cast.anna.id: "gone_quiet",
            cast.ben.id: "never_started",
        }

    def test_who_is_no_longer_coached_gets_no_flag_and_loses_the_ones_of_time(self, cast: Cast):
        with business_scope(cast.business_id):
            histories.assignment(cast.anna, start_date=MONDAY - 8 * WEEK)
        checked_in(cast, cast.ben, symptoms=["dizziness"])
        evaluated(cast, cast.ben)
        flags_of_the_day(cast.business_id, NOON)
        assert {flag.kind for flag in flags(cast, state="open")} == {"gone_quiet", "symptom"}
        with business_scope(cast.business_id):
            Client.objects.update(state="ended")
        flags_of_the_day(cast.business_id, NOON + DAY)
        assert {flag.kind: flag.state for flag in flags(cast)} == {"gone_quiet": "closed", "symptom": "open"}


class TestLoad:
    """A week that jumps above the weeks before it."""

    def _weeks(self, cast: Cast, minutes: list[int], planned_sets: list[int] | None = None) -> None:
        with business_scope(cast.business_id):
            given = histories.assignment(cast.anna, start_date=MONDAY - 20 * WEEK)
            for index, length in enumerate(reversed(minutes)):
                day = MONDAY - (index + 1) * WEEK
                histories.session(cast.anna, day, session_rpe=Decimal(6), duration_min=Decimal(length))
                if planned_sets is not None:
                    sets = planned_sets[len(minutes) - 1 - index]
                    histories.planned(given, day, state="done", planned_work_sets=sets)
            store_client_weeks(weeks=[(cast.anna.id, MONDAY - (1 + week) * WEEK) for week in range(len(minutes))])
            # Somebody was in touch.
            histories.check_in(cast.anna, TODAY)

    def test_a_jump_is_flagged_in_the_week_after_and_closes_when_another_week_is_over(self, cast: Cast):
        self._weeks(cast, [50, 52, 50, 51, 50, 90])
        evaluated(cast, cast.anna)
        (flag,) = flags(cast)
        assert (flag.kind, flag.action, flag.state) == ("load_jump", "no_increase", "open")
        assert flag.figures["week_start"] == (MONDAY - WEEK).isoformat()
        checked_in(cast, cast.anna, TODAY + WEEK)
        evaluated(cast, cast.anna, NOON + WEEK)
        assert [flag.state for flag in flags(cast, kind="load_jump")] == ["closed"]

    def test_even_weeks_are_not_flagged(self, cast: Cast):
        self._weeks(cast, [50, 52, 50, 51, 50, 55])
        evaluated(cast, cast.anna)
        assert flags(cast) == []

    def test_a_rise_that_the_program_asks_for_is_no_jump(self, cast: Cast):
        self._weeks(cast, [50, 52, 50, 51, 50, 90], [12, 12, 12, 12, 12, 18])
        evaluated(cast, cast.anna)
        assert flags(cast, kind="load_jump") == []

    def test_a_week_partly_away_is_not_compared(self, cast: Cast):
        with business_scope(cast.business_id):
            day = MONDAY - 2 * DAY
            Absence.objects.create(client=cast.anna, starts_on=day, ends_on=day, kind="ill")
        self._weeks(cast, [50, 52, 50, 51, 50, 90])
        evaluated(cast, cast.anna)
        assert flags(cast) == []


class TestTheDay:
    """Each client once on each of their own days."""

    def test_a_client_is_asked_about_once_a_local_day(self, cast: Cast):
        assert flags_of_the_day(cast.business_id, NOON) is False
        with CaptureQueriesContext(connection) as captured:
            flags_of_the_day(cast.business_id, NOON + timedelta(hours=2))
        assert not [one for one in captured if "logs_checkin" in one["sql"]]

    def test_midnight_is_each_clients_own(self, cast: Cast):
        with business_scope(cast.business_id):
            for client in (cast.anna, cast.ben):
                histories.assignment(client, start_date=TODAY - 2 * DAY)
        # At 05:00 in Paris, where the day starts at four, it is still the evening before in Chicago.
        flags_of_the_day(cast.business_id, NOON)
        early = datetime(2031, 3, 6, 4, tzinfo=NOON.tzinfo)
        flags_of_the_day(cast.business_id, early)
        assert [flag.client_id for flag in flags(cast)] == [cast.anna.id]
        flags_of_the_day(cast.business_id, early + timedelta(hours=12))
        assert {flag.client_id for flag in flags(cast)} == {cast.anna.id, cast.ben.id}

    def test_one_clients_unreadable_report_does_not_silence_the_others(self, cast: Cast):
        checked_in(cast, cast.anna, symptoms=["a_code_of_old"])
        checked_in(cast, cast.ben, symptoms=["dizziness"])
        flags_of_the_day(cast.business_id, NOON)
        assert [flag.client_id for flag in flags(cast)] == [cast.ben.id]

    @pytest.mark.parametrize("clients", [1, 50])
    def test_many_clients_take_the_same_statements_as_one(self, cast: Cast, clients: int):
        with business_scope(cast.business_id):
            Client.objects.update(state="lead")
            made = Client.objects.bulk_create(
                Client(name=f"Client {number}", coach=cast.coach, time_zone="Europe/Paris", unit="kg")
                for number in range(clients)
            )
            CheckIn.objects.bulk_create(
                CheckIn(**histories.log_fields(client, TODAY), symptoms=["dizziness"]) for client in made
            )
        with CaptureQueriesContext(connection) as captured:
            flags_of_the_day(cast.business_id, NOON)
        assert len(flags(cast)) == clients
        assert len(captured) == 30


def test_flags_of_one_business_are_none_of_anothers(cast: Cast, neighbour: Cast):
    checked_in(cast, cast.anna, symptoms=["dizziness"])
    flags_of_the_day(neighbour.business_id, NOON)
    flags_of_the_day(cast.business_id, NOON)
    assert len(flags(cast)) == 1
    assert flags(neighbour) == []


def test_two_evaluations_at_once_open_one_flag(committed: None):
    cast = build_business("Northern Iron")
    checked_in(cast, cast.anna, symptoms=["dizziness"], pains=[SHOULDER])
    start = Barrier(2)

    def evaluate() -> None:
        try:
            start.wait(10)
            evaluated(cast, cast.anna)
        finally:
            connections.close_all()

    threads = [Thread(target=evaluate) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert sorted(flag.kind for flag in flags(cast)) == ["pain", "symptom"]
    assert {flag.row_version for flag in flags(cast)} == {1}
