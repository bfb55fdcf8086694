"""A missed session is alerted once; what is no longer true is withdrawn while nobody was told."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any, TypeVar
from uuid import UUID

import pytest

from coaching.actions.idempotency import KeptAnswer, keep_answer
from coaching.actions.outbox import deliver_due_messages
from coaching.measures.local_calendar import local_instant
from coaching.models import (
    Absence,
    AbsenceTreatment,
    Business,
    Client,
    ClientState,
    IdempotentAnswer,
    Membership,
    MembershipState,
    OutboxMessage,
    OutboxState,
)
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import SessionToAlert, detect_missed, follow_planned_sessions, raise_alerts
from logs.actions.digests import make_digests
from logs.actions.reconciliation import expire_held_items, reconcile_alerts
from logs.models import AlertDigest, AlertState, HeldItem, MissedAlert
from logs.selectors.alerts import list_businesses_with_open_alerts
from programs.actions.assignment_results import AssignmentTerms, ClientStart
from programs.actions.assignments import assign_version
from programs.actions.performances import Performance, record_performance
from programs.models import PlannedSession, PlannedState
from programs.selectors.due_sessions import list_businesses_with_due_sessions
from tests.planned_sessions import plan_session
from tests.programs.documents import acting, content, published
from tests.scenario import Cast
from tests.smtp_server import SmtpSink

T = TypeVar("T")
TUESDAY = date(2031, 3, 4)
# 06:00 in Paris on Wednesday: Tuesday's session of a Parisian counts as missed.
WEDNESDAY_AT_SIX = datetime(2031, 3, 5, 5, tzinfo=UTC)
WEDNESDAY_AT_SEVEN = datetime(2031, 3, 5, 6, tzinfo=UTC)
A_MINUTE = timedelta(minutes=1)
A_DAY = timedelta(days=1)


def _plan(cast: Cast, client: Client, day: date = TUESDAY, **more: Any) -> UUID:
    with business_scope(cast.business_id):
        return plan_session(client, day, **more).id


def _detect(cast: Cast, now: datetime = WEDNESDAY_AT_SIX) -> None:
    while detect_missed(cast.business_id, now):
        pass


def _tick(cast: Cast, now: datetime) -> None:
    _detect(cast, now)
    make_digests(cast.business_id, now)


def _dispatch(cast: Cast, now: datetime) -> None:
    while deliver_due_messages(cast.business_id, now):
        pass


def _tick_and_dispatch(cast: Cast, now: datetime) -> None:
    _tick(cast, now)
    _dispatch(cast, now)


def _in_scope(cast: Cast, read: Callable[[], T]) -> T:
    with business_scope(cast.business_id):
        return read()


def _alerts(cast: Cast) -> list[tuple[UUID, str]]:
    return _in_scope(cast, lambda: list(MissedAlert.objects.order_by("id").values_list("planned_session_id", "state")))


def _session(cast: Cast, session_id: UUID) -> PlannedSession:
    return _in_scope(cast, lambda: PlannedSession.objects.get(id=session_id))


def _log(cast: Cast, session_id: UUID, performed_on: date | None, now: datetime) -> None:
    performance = Performance(session_id, performed_on, work_sets_done=12, finished=True)
    with business_scope(cast.business_id):
        record_performance(performances=[performance], now=now)


def _change(cast: Cast, row: Client | Membership | Business, **changes: Any) -> None:
    with business_scope(cast.business_id):
        type(row).objects.filter(id=row.id).update(**changes)


def _business(cast: Cast) -> Business:
    return _in_scope(cast, lambda: Business.objects.get(id=cast.business_id))


# Detecting


def test_a_session_is_missed_at_six_the_next_morning_and_not_a_minute_before(cast: Cast) -> None:
    session_id = _plan(cast, cast.anna)
    _detect(cast, WEDNESDAY_AT_SIX - A_MINUTE)
    assert _session(cast, session_id).state == PlannedState.PLANNED
    assert list_businesses_with_due_sessions(WEDNESDAY_AT_SIX - A_MINUTE) == []
    assert list_businesses_with_due_sessions(WEDNESDAY_AT_SIX) == [cast.business_id]
    _detect(cast, WEDNESDAY_AT_SIX)
    assert _session(cast, session_id).state == PlannedState.MISSED
    assert _alerts(cast) == [(session_id, AlertState.STANDING)]


def test_a_session_is_alerted_once_however_often_the_job_runs(cast: Cast) -> None:
    session_id = _plan(cast, cast.anna)
    for minutes in range(0, 600, 60):
        _detect(cast, WEDNESDAY_AT_SIX + timedelta(minutes=minutes))
        reconcile_alerts(cast.business_id, WEDNESDAY_AT_SIX + timedelta(minutes=minutes))
    assert _alerts(cast) == [(session_id, AlertState.STANDING)]


def test_each_business_is_alerted_of_its_own_sessions_only(cast: Cast, neighbour: Cast) -> None:
    _plan(cast, cast.anna)
    _detect(neighbour)
    assert _alerts(neighbour) == []
    assert _alerts(cast) == []
    _detect(cast)
    assert _alerts(neighbour) == []
    assert len(_alerts(cast)) == 1


@pytest.mark.parametrize("treatment", AbsenceTreatment)
def test_a_session_on_days_away_never_alerts(cast: Cast, treatment: str) -> None:
    _plan(cast, cast.anna)
    with business_scope(cast.business_id):
        Absence.objects.create(
            client=cast.anna, starts_on=TUESDAY, ends_on=TUESDAY, kind="holiday", treatment=treatment
        )
    _detect(cast)
    reconcile_alerts(cast.business_id, WEDNESDAY_AT_SIX + A_DAY)
    assert _alerts(cast) == []


@pytest.mark.parametrize("state", [ClientState.PAUSED, ClientState.ENDED])
def test_a_client_who_is_not_coached_now_never_alerts(cast: Cast, state: str) -> None:
    _plan(cast, cast.anna)
    _change(cast, cast.anna, state=state)
    _detect(cast)
    reconcile_alerts(cast.business_id, WEDNESDAY_AT_SIX + A_DAY)
    assert _alerts(cast) == []


@pytest.mark.parametrize(
    ("zone", "day", "missed_at"),
    [
        ("Europe/Paris", date(2031, 3, 29), datetime(2031, 3, 30, 4, tzinfo=UTC)),
        ("Europe/Paris", date(2031, 10, 25), datetime(2031, 10, 26, 5, tzinfo=UTC)),
        ("Asia/Kathmandu", TUESDAY, datetime(2031, 3, 5, 0, 15, tzinfo=UTC)),
        ("Pacific/Apia", TUESDAY, datetime(2031, 3, 4, 17, tzinfo=UTC)),
        ("Australia/Lord_Howe", date(2031, 4, 5), datetime(2031, 4, 5, 19, 30, tzinfo=UTC)),
    ],
)
def test_the_morning_is_the_clients_own_also_when_the_clocks_change(
    cast: Cast, zone: str, day: date, missed_at: datetime
) -> None:
    _change(cast, cast.anna, time_zone=zone)
    cast.anna.time_zone = zone
    _plan(cast, cast.anna, day)
    _detect(cast, missed_at - A_MINUTE)
    assert _alerts(cast) == []
    for hours in range(30):
        _detect(cast, missed_at + timedelta(hours=hours))
    assert len(_alerts(cast)) == 1


# Reconciling


def test_reconcile_alerts_what_is_missed_and_was_never_alerted(cast: Cast) -> None:
    session_id = _plan(cast, cast.anna, state=PlannedState.MISSED)
    reconcile_alerts(cast.business_id, WEDNESDAY_AT_SIX)
    assert _alerts(cast) == [(session_id, AlertState.STANDING)]


def test_reconcile_looks_back_a_week_and_no_further(cast: Cast) -> None:
    _plan(cast, cast.anna, state=PlannedState.MISSED)
    reconcile_alerts(cast.business_id, WEDNESDAY_AT_SIX + 8 * A_DAY)
    assert _alerts(cast) == []


def test_reconcile_marks_what_no_tick_has_seen(cast: Cast) -> None:
    session_id = _plan(cast, cast.anna)
    reconcile_alerts(cast.business_id, WEDNESDAY_AT_SIX + 3 * A_DAY)
    assert _alerts(cast) == [(session_id, AlertState.STANDING)]


def test_held_items_and_kept_answers_go_when_their_time_is_over(cast: Cast) -> None:
    from coaching.actions.expiry import purge_expired_answers

    with business_scope(cast.business_id):
        for days in (-1, 1):
            HeldItem.objects.create(
                client=cast.anna,
                source="app",
                external_id=f"set {days}",
                session_external_id="s",
                item={},
                received_at=WEDNESDAY_AT_SIX,
                expires_at=WEDNESDAY_AT_SIX + timedelta(days=days),
            )
        answer = KeptAnswer(fingerprint="f", status=201, headers={}, body=b"{}")
        for key in ("old", "new"):
            keep_answer(credential_id=new_id(), key=key, answer=answer)
        IdempotentAnswer.objects.filter(key="old").update(created_at=WEDNESDAY_AT_SIX - 3 * A_DAY)
        IdempotentAnswer.objects.filter(key="new").update(created_at=WEDNESDAY_AT_SIX - A_DAY)
    expire_held_items(cast.business_id, WEDNESDAY_AT_SIX)
    purge_expired_answers(cast.business_id, WEDNESDAY_AT_SIX)
    with business_scope(cast.business_id):
        assert [item.external_id for item in HeldItem.objects.all()] == ["set 1"]
        assert [answer.key for answer in IdempotentAnswer.objects.all()] == ["new"]


# The digest


def test_a_coach_gets_one_digest_at_seven_of_their_own_morning(cast: Cast, smtp: SmtpSink) -> None:
    _plan(cast, cast.anna, title="Lower A")
    _plan(cast, cast.carl, title="Upper B")
    for minutes in range(-60, 0, 5):
        _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + timedelta(minutes=minutes))
    assert smtp.letters == []
    for minutes in range(0, 600, 50):
        _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + timedelta(minutes=minutes))
    assert sorted((letter.to, letter.subject) for letter in smtp.letters) == [
        ("cato@northern-iron.example", "1 session missed"),
        ("cora@northern-iron.example", "1 session missed"),
    ]


def test_a_digest_says_who_missed_what_and_when_in_the_coachs_zone(cast: Cast, smtp: SmtpSink) -> None:
    anna, ben = _plan(cast, cast.anna, title="Lower A"), _plan(cast, cast.ben, title="Upper <B>")
    # Ben's morning in Chicago is the afternoon in Paris: he waits for Thursday.
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + timedelta(hours=8))
    (first,) = smtp.letters
    assert "Anna: Lower A, planned for Tuesday 4 March 2031" in first.text
    assert "Wednesday 5 March 2031, 06:00" in first.text
    assert "Europe/Paris" in first.text
    assert f"/api/v1/planned-sessions/{anna}" in first.text
    assert "Ben" not in first.text
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + A_DAY)
    _first, second = smtp.letters
    assert "Ben: Upper <B>, planned for Tuesday 4 March 2031 (in America/Chicago)" in second.text
    assert "Wednesday 5 March 2031, 13:00" in second.text
    assert "Upper &lt;B&gt;" in second.html
    assert f"/api/v1/planned-sessions/{ben}" in second.html
    assert second.html.count("<caption") == 1
    assert 'scope="col"' in second.html


def test_the_coachs_morning_is_their_own_whatever_the_clients_zone(cast: Cast, smtp: SmtpSink) -> None:
    _change(cast, cast.coach, time_zone="Asia/Kathmandu")
    _plan(cast, cast.ben)
    # Counted from 12:00 UTC on Wednesday; the next 07:00 in Kathmandu is 01:15 UTC on Thursday.
    for hour in range(12, 25):
        _tick_and_dispatch(cast, datetime(2031, 3, 5, tzinfo=UTC) + timedelta(hours=hour, minutes=30))
    assert smtp.letters == []
    _tick_and_dispatch(cast, datetime(2031, 3, 6, 1, 14, tzinfo=UTC))
    assert smtp.letters == []
    _tick_and_dispatch(cast, datetime(2031, 3, 6, 1, 15, tzinfo=UTC))
    (letter,) = smtp.letters
    assert "Wednesday 5 March 2031, 17:45" in letter.text


@pytest.mark.parametrize("changes_on", [date(2031, 3, 30), date(2031, 10, 26)])
def test_a_digest_at_half_past_two_comes_once_on_days_when_the_clocks_change(
    cast: Cast, smtp: SmtpSink, changes_on: date
) -> None:
    _change(cast, _business(cast), grace_h=0)
    cast_digest_at = datetime(2031, 1, 1, 2, 30).time()
    _change(cast, _business(cast), digest_at=cast_digest_at)
    _plan(cast, cast.anna, changes_on - A_DAY)
    _plan(cast, cast.anna, changes_on)
    start = local_instant(changes_on, datetime.min.time(), "Europe/Paris")
    sent = []
    for quarters in range(4 * 24):
        now = start + timedelta(minutes=15 * quarters)
        before = len(smtp.letters)
        _tick_and_dispatch(cast, now)
        if len(smtp.letters) > before:
            sent.append(now)
    # In the gap the first instant after it (03:00 summer time), in the fold the first 02:30 (summer time).
    hour_utc = {date(2031, 3, 30): (1, 0), date(2031, 10, 26): (0, 30)}[changes_on]
    assert [(now.hour, now.minute) for now in sent] == [hour_utc]
    assert [letter.subject for letter in smtp.letters] == ["1 session missed"]


def test_what_comes_up_after_the_morning_waits_for_the_next_one(cast: Cast, smtp: SmtpSink) -> None:
    _plan(cast, cast.anna)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    _plan(cast, cast.anna, TUESDAY, title="Extra")
    for hours in range(1, 24):
        _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + timedelta(hours=hours))
    assert len(smtp.letters) == 1
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + A_DAY)
    assert len(smtp.letters) == 2
    assert "Extra" in smtp.letters[1].text
    assert "Lower A" not in smtp.letters[1].text


def test_a_digest_takes_in_what_came_up_before_it_is_written_out(cast: Cast, smtp: SmtpSink) -> None:
    _plan(cast, cast.anna)
    _tick(cast, WEDNESDAY_AT_SEVEN)
    _plan(cast, cast.anna, TUESDAY, title="Extra")
    _detect(cast, WEDNESDAY_AT_SEVEN)
    _dispatch(cast, WEDNESDAY_AT_SEVEN)
    (letter,) = smtp.letters
    assert letter.subject == "2 sessions missed"


def test_a_retried_digest_says_the_same_words_under_the_same_message_id(cast: Cast, smtp: SmtpSink) -> None:
    _plan(cast, cast.anna)
    smtp.answer("hang up after taking")
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    _change(cast, cast.anna, name="Renamed")
    _plan(cast, cast.anna, TUESDAY, title="Extra")
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + A_MINUTE)
    first, second = smtp.letters
    assert (first.message_id, first.text, first.html) == (second.message_id, second.text, second.html)


def test_a_digest_is_written_anew_when_an_alert_was_withdrawn_between_tries(cast: Cast, smtp: SmtpSink) -> None:
    anna, _ben = _plan(cast, cast.anna, title="Lower A"), _plan(cast, cast.anna, title="Upper B")
    smtp.answer("450 4.2.0 Later")
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    _log(cast, anna, TUESDAY, WEDNESDAY_AT_SEVEN)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + A_MINUTE)
    (letter,) = smtp.letters
    assert letter.subject == "1 session missed"
    assert "Lower A" not in letter.text
    assert "Upper B" in letter.text


def test_after_an_outage_old_sessions_are_a_line_for_each_client(cast: Cast, smtp: SmtpSink) -> None:
    for day in range(4):
        _plan(cast, cast.anna, TUESDAY + day * A_DAY, title=f"Session {day}")
    # Back on Saturday at 08:00: Friday's session is of the last day, the three before are not.
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + 3 * A_DAY + timedelta(hours=1))
    (letter,) = smtp.letters
    assert letter.subject == "4 sessions missed"
    assert "Session 3" in letter.text
    assert "Session 0" not in letter.text
    assert "Anna: 3 missed, Tuesday 4 March 2031 to Thursday 6 March 2031" in letter.text
    assert letter.html.count("<caption") == 2


def test_a_row_of_missed_sessions_is_marked_from_the_third_on(cast: Cast, smtp: SmtpSink) -> None:
    for day in range(3):
        _plan(cast, cast.anna, TUESDAY + day * A_DAY)
    _plan(cast, cast.carl, TUESDAY)
    for day in range(3):
        _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + day * A_DAY)
    by_day = [letter.text for letter in smtp.letters if letter.to.startswith("cora")]
    assert ["missed in a row" in text for text in by_day] == [False, False, True]
    assert ">> 3 missed in a row" in by_day[2]


def test_training_in_between_breaks_the_row_and_an_excused_session_does_not(cast: Cast, smtp: SmtpSink) -> None:
    _plan(cast, cast.anna, TUESDAY - 3 * A_DAY, state=PlannedState.MISSED)
    trained = _plan(cast, cast.anna, TUESDAY - 2 * A_DAY)
    _log(cast, trained, TUESDAY - 2 * A_DAY, WEDNESDAY_AT_SIX)
    _plan(cast, cast.anna, TUESDAY - A_DAY, state=PlannedState.MISSED)
    _plan(cast, cast.anna, TUESDAY, state=PlannedState.EXCUSED)
    _plan(cast, cast.anna, TUESDAY)
    _change(cast, _business(cast), missed_escalation_sessions=2)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    (letter,) = smtp.letters
    assert ">> 2 missed in a row" in letter.text


def test_the_digest_goes_to_the_coach_who_has_the_client_now(cast: Cast, smtp: SmtpSink) -> None:
    _plan(cast, cast.anna)
    _tick(cast, WEDNESDAY_AT_SEVEN)
    _change(cast, cast.anna, coach=cast.other_coach)
    _dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert smtp.letters == []
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + A_MINUTE)
    (letter,) = smtp.letters
    assert letter.to == "cato@northern-iron.example"


def test_a_coach_who_has_left_gets_nothing_and_the_next_coach_is_told(cast: Cast, smtp: SmtpSink) -> None:
    _plan(cast, cast.anna)
    _tick(cast, WEDNESDAY_AT_SEVEN)
    _change(cast, cast.coach, state=MembershipState.LEFT)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert smtp.letters == []
    _change(cast, cast.anna, coach=cast.other_coach)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + A_MINUTE)
    assert [letter.to for letter in smtp.letters] == ["cato@northern-iron.example"]


def test_only_businesses_with_something_to_say_are_looked_at(cast: Cast, neighbour: Cast) -> None:
    _plan(cast, cast.anna)
    _detect(cast)
    assert list_businesses_with_open_alerts(WEDNESDAY_AT_SIX) == [cast.business_id]
    make_digests(cast.business_id, WEDNESDAY_AT_SEVEN)
    assert list_businesses_with_open_alerts(WEDNESDAY_AT_SEVEN) == []


def test_a_name_with_line_breaks_can_forge_no_line(cast: Cast, smtp: SmtpSink) -> None:
    _change(cast, cast.anna, name="Anna\n\n- Carl: Lower A\r\nBcc: x@example.com")
    _plan(cast, cast.anna, title="<script>alert(1)</script>")
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    (letter,) = smtp.letters
    assert "\n- Carl" not in letter.text
    assert "<script>" not in letter.html


# A past that was brought in


def _assign_backdated(cast: Cast, *, alert_past: bool = False) -> None:
    now = WEDNESDAY_AT_SIX - 2 * A_DAY
    terms = AssignmentTerms("fixed_days", TUESDAY - 35 * A_DAY, weekdays=(1,), alert_past=alert_past)
    with business_scope(cast.business_id):
        assign_version(
            actor=acting(cast.coach),
            version_id=published(content(weeks=6, days=1)).id,
            terms=terms,
            clients=[ClientStart(cast.anna.id)],
            now=now,
        )


def test_what_was_due_before_its_program_was_assigned_is_missed_and_nobody_is_told(cast: Cast, smtp: SmtpSink) -> None:
    _want_notes(cast)
    _assign_backdated(cast)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SIX - A_DAY)
    reconcile_alerts(cast.business_id, WEDNESDAY_AT_SIX - A_DAY)
    states = _in_scope(cast, lambda: dict(PlannedSession.objects.values_list("local_date", "state")))
    assert states.pop(TUESDAY) == PlannedState.PLANNED
    assert set(states.values()) == {PlannedState.MISSED}
    assert len(states) == 5
    assert (_alerts(cast), smtp.letters) == ([], [])
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    (alerted,) = _in_scope(cast, lambda: list(MissedAlert.objects.values_list("local_date", flat=True)))
    assert alerted == TUESDAY


def test_a_past_session_whose_log_is_deleted_is_not_told_of_either(cast: Cast) -> None:
    _assign_backdated(cast)
    week_before = _in_scope(cast, lambda: PlannedSession.objects.get(local_date=TUESDAY - 7 * A_DAY).id)
    _log(cast, week_before, TUESDAY - 7 * A_DAY, WEDNESDAY_AT_SIX - 2 * A_DAY)
    _log(cast, week_before, None, WEDNESDAY_AT_SIX - 2 * A_DAY)
    assert _session(cast, week_before).state == PlannedState.MISSED
    assert _alerts(cast) == []


def test_who_asks_for_it_is_told_of_the_past_too(cast: Cast) -> None:
    _assign_backdated(cast, alert_past=True)
    _detect(cast, WEDNESDAY_AT_SIX - A_DAY)
    assert len(_alerts(cast)) == 5


def test_more_is_due_after_a_full_piece_though_few_of_it_were_missed(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logs.actions.alerts.SESSIONS_A_PIECE", 3)
    for number in range(4):
        _plan(cast, cast.anna, title=str(number))
    _plan(cast, cast.ben, TUESDAY + A_DAY)
    _change(cast, cast.anna, state=ClientState.PAUSED)
    two_days_later = WEDNESDAY_AT_SIX + 2 * A_DAY
    assert detect_missed(cast.business_id, two_days_later)
    assert not detect_missed(cast.business_id, two_days_later)
    assert len(_alerts(cast)) == 1


# Withdrawing


def test_a_log_that_comes_before_the_digest_withdraws_the_alert(cast: Cast, smtp: SmtpSink) -> None:
    session_id = _plan(cast, cast.anna)
    _detect(cast)
    _log(cast, session_id, TUESDAY, WEDNESDAY_AT_SIX + A_MINUTE)
    assert _alerts(cast) == [(session_id, AlertState.WITHDRAWN)]
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert smtp.letters == []
    assert _session(cast, session_id).state == PlannedState.DONE


def test_a_log_that_comes_while_the_digest_waits_withdraws_the_alert(cast: Cast, smtp: SmtpSink) -> None:
    session_id = _plan(cast, cast.anna)
    _tick(cast, WEDNESDAY_AT_SEVEN)
    _log(cast, session_id, TUESDAY, WEDNESDAY_AT_SEVEN)
    assert _alerts(cast) == [(session_id, AlertState.WITHDRAWN)]
    _dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert smtp.letters == []
    with business_scope(cast.business_id):
        message = AlertDigest.objects.get().message
        assert message.state == OutboxState.WITHDRAWN
        assert message.last_problem


def test_a_session_settled_unseen_is_found_when_the_digest_is_written_out(cast: Cast, smtp: SmtpSink) -> None:
    session_id = _plan(cast, cast.anna)
    _tick(cast, WEDNESDAY_AT_SEVEN)
    with business_scope(cast.business_id):
        PlannedSession.objects.update(state=PlannedState.EXCUSED)
    _dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert smtp.letters == []
    assert _alerts(cast) == [(session_id, AlertState.WITHDRAWN)]


@pytest.mark.parametrize("state", [ClientState.PAUSED, ClientState.ENDED])
def test_a_client_paused_or_ended_since_is_not_told_of(cast: Cast, smtp: SmtpSink, state: str) -> None:
    session_id = _plan(cast, cast.anna)
    _plan(cast, cast.ben, TUESDAY - A_DAY)
    _tick(cast, WEDNESDAY_AT_SEVEN)
    _change(cast, cast.anna, state=state)
    _dispatch(cast, WEDNESDAY_AT_SEVEN)
    (letter,) = smtp.letters
    assert "Ben" in letter.text
    assert "Anna" not in letter.text
    assert (session_id, AlertState.WITHDRAWN) in _alerts(cast)
    reconcile_alerts(cast.business_id, WEDNESDAY_AT_SEVEN)
    assert (session_id, AlertState.WITHDRAWN) in _alerts(cast)


@pytest.mark.parametrize(
    ("performed_on", "state"),
    [(TUESDAY, PlannedState.DONE), (TUESDAY + 7 * A_DAY, PlannedState.DONE_LATE)],
)
def test_a_log_after_the_digest_was_sent_settles_the_session_and_sends_nothing_more(
    cast: Cast, smtp: SmtpSink, performed_on: date, state: str
) -> None:
    session_id = _plan(cast, cast.anna)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert len(smtp.letters) == 1
    later = WEDNESDAY_AT_SEVEN + 8 * A_DAY
    _log(cast, session_id, performed_on, later)
    assert _session(cast, session_id).state == state
    # What was said stays said: an alert is never both sent and withdrawn.
    assert _alerts(cast) == [(session_id, AlertState.STANDING)]
    for days in range(3):
        _tick_and_dispatch(cast, later + days * A_DAY)
    assert len(smtp.letters) == 1


def test_an_alert_that_is_just_being_sent_is_not_withdrawn(cast: Cast) -> None:
    session_id = _plan(cast, cast.anna)
    _tick(cast, WEDNESDAY_AT_SEVEN)
    with business_scope(cast.business_id):
        OutboxMessage.objects.update(state=OutboxState.SENDING)
    _log(cast, session_id, TUESDAY, WEDNESDAY_AT_SEVEN)
    assert _alerts(cast) == [(session_id, AlertState.STANDING)]


def test_an_alert_nobody_was_told_of_stands_again_when_its_log_is_deleted(cast: Cast, smtp: SmtpSink) -> None:
    session_id = _plan(cast, cast.anna)
    _detect(cast)
    _log(cast, session_id, TUESDAY, WEDNESDAY_AT_SIX)
    _log(cast, session_id, None, WEDNESDAY_AT_SIX)
    assert _alerts(cast) == [(session_id, AlertState.STANDING)]
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert len(smtp.letters) == 1


def test_an_alert_that_was_sent_is_not_repeated_when_its_log_is_deleted(cast: Cast, smtp: SmtpSink) -> None:
    session_id = _plan(cast, cast.anna)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    _log(cast, session_id, TUESDAY, WEDNESDAY_AT_SEVEN)
    _log(cast, session_id, None, WEDNESDAY_AT_SEVEN)
    for days in range(3):
        _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + days * A_DAY)
    assert len(smtp.letters) == 1


def test_withdrawing_takes_as_many_statements_for_many_sessions_as_for_one(
    cast: Cast, django_assert_num_queries: Any
) -> None:
    def withdrawn(sessions: int) -> int:
        ids = [_plan(cast, cast.anna, title=f"{sessions}/{number}") for number in range(sessions)]
        _detect(cast)
        with business_scope(cast.business_id):
            PlannedSession.objects.filter(id__in=ids).update(state=PlannedState.DONE)
            with django_assert_num_queries(4):
                follow_planned_sessions(ids, WEDNESDAY_AT_SIX)
            return MissedAlert.objects.filter(state=AlertState.WITHDRAWN).count()

    assert withdrawn(1) == 1
    assert withdrawn(30) == 31


def test_raising_no_alerts_asks_nothing(cast: Cast, django_assert_num_queries: Any) -> None:
    with business_scope(cast.business_id), django_assert_num_queries(0):
        raise_alerts(sessions=list[SessionToAlert](), now=WEDNESDAY_AT_SIX)


# Notes to clients


def _want_notes(cast: Cast) -> None:
    _change(cast, _business(cast), client_notes=True)
    _change(cast, cast.anna, missed_notes=True)


def _notes(smtp: SmtpSink) -> list[str]:
    return [letter.text for letter in smtp.letters if letter.to == "anna@northern-iron.example"]


def test_a_client_who_wants_it_gets_a_gentle_note_after_the_quiet_hours(cast: Cast, smtp: SmtpSink) -> None:
    _want_notes(cast)
    _plan(cast, cast.anna, title="Lower A")
    _tick_and_dispatch(cast, WEDNESDAY_AT_SIX)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN - A_MINUTE)
    assert smtp.letters == []
    for minutes in range(0, 300, 20):
        _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + timedelta(minutes=minutes))
    (note,) = [letter for letter in smtp.letters if letter.to == "anna@northern-iron.example"]
    assert note.subject == "A short note from Northern Iron"
    assert "Lower A, Tuesday 4 March" in note.text
    assert "missed" not in note.text.lower()
    assert note.message["Reply-To"] == "Cora <cora@northern-iron.example>"


@pytest.mark.parametrize("unwanted_by", ["business", "client", "no address"])
def test_nobody_gets_a_note_unless_business_and_client_both_want_it(
    cast: Cast, smtp: SmtpSink, unwanted_by: str
) -> None:
    _want_notes(cast)
    match unwanted_by:
        case "business":
            _change(cast, _business(cast), client_notes=False)
        case "client":
            _change(cast, cast.anna, missed_notes=False)
        case _:
            _change(cast, cast.anna, email="")
    _plan(cast, cast.anna)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert [letter.to for letter in smtp.letters] == ["cora@northern-iron.example"]


def test_several_sessions_missed_at_once_are_one_note(cast: Cast, smtp: SmtpSink) -> None:
    _want_notes(cast)
    _plan(cast, cast.anna, title="Lower A")
    _plan(cast, cast.anna, title="Upper B")
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    (note,) = _notes(smtp)
    assert "Lower A" in note
    assert "Upper B" in note


def test_a_note_is_withdrawn_when_the_log_came_first(cast: Cast, smtp: SmtpSink) -> None:
    _want_notes(cast)
    session_id = _plan(cast, cast.anna)
    _detect(cast)
    _log(cast, session_id, TUESDAY, WEDNESDAY_AT_SIX)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN)
    assert smtp.letters == []


def test_a_note_that_waited_for_a_worker_into_the_night_waits_for_the_morning(cast: Cast, smtp: SmtpSink) -> None:
    _want_notes(cast)
    _plan(cast, cast.anna)
    _detect(cast)
    _dispatch(cast, WEDNESDAY_AT_SEVEN + timedelta(hours=15))
    assert _notes(smtp) == []
    _dispatch(cast, WEDNESDAY_AT_SEVEN + timedelta(hours=24) - A_MINUTE)
    assert _notes(smtp) == []
    _dispatch(cast, WEDNESDAY_AT_SEVEN + timedelta(hours=24))
    assert len(_notes(smtp)) == 1


def test_a_note_that_would_come_days_late_is_not_sent(cast: Cast, smtp: SmtpSink) -> None:
    _want_notes(cast)
    _plan(cast, cast.anna)
    _detect(cast)
    _dispatch(cast, WEDNESDAY_AT_SEVEN + 3 * A_DAY)
    assert _notes(smtp) == []


def test_sessions_found_days_late_bring_the_client_no_note(cast: Cast, smtp: SmtpSink) -> None:
    _want_notes(cast)
    _plan(cast, cast.anna)
    _tick_and_dispatch(cast, WEDNESDAY_AT_SEVEN + 3 * A_DAY)
    assert _notes(smtp) == []
