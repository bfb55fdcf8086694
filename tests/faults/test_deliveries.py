"""Workers killed in the middle of a delivery, and many that run at once: nothing lost, no copy without a kill."""

import signal
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from datetime import timedelta
from pathlib import Path
from threading import Event
from uuid import UUID

import psycopg
import pytest
from django.db import connection
from django.utils import timezone

from coaching.actions.outbox import CRASHES_ALLOWED, deliver_due_messages, queue_message
from coaching.config.celery import app
from coaching.models import Business, OutboxMessage, OutboxState
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.digests import make_digests
from logs.models import AlertDigest, AlertState, MissedAlert
from programs.actions.performances import Performance, record_performance
from programs.models import PlannedSession, PlannedState
from tests.planned_sessions import plan_session
from tests.processes import PATIENCE_S, beat, environment, kill, running, script, worker
from tests.scenario import Cast, build_business
from tests.smtp_server import HOLD_AFTER_TAKING, HOLD_BEFORE_TAKING, TAKEN, SmtpSink

TICK = script("from coaching.tasks import tick", "tick()")
DISPATCH = script("from coaching.tasks import dispatch", "dispatch()")
STARTING_LINE = 20310305


@pytest.fixture
def missed(committed: None) -> Cast:
    """A business in which Anna and Carl missed a session days ago, committed for other processes to find."""
    cast = build_business("Northern Iron")
    with business_scope(cast.business_id):
        # Midnight has passed in every zone, whenever this runs.
        Business.objects.update(digest_at="00:00")
        for client in (cast.anna, cast.carl):
            plan_session(client, timezone.now().date() - timedelta(days=3))
    return cast


def _run(smtp: SmtpSink, arguments: tuple[str, ...]) -> None:
    with running(smtp, *arguments) as process:
        assert process.wait(PATIENCE_S) == 0


def _states(cast: Cast) -> list[str]:
    with business_scope(cast.business_id):
        return sorted(OutboxMessage.objects.values_list("state", flat=True))


def _let_leases_run_out(cast: Cast) -> None:
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute("UPDATE coaching_outboxmessage SET lease_until = clock_timestamp() WHERE state = 'sending'")


def _deliver_the_rest(cast: Cast) -> None:
    while deliver_due_messages(cast.business_id, timezone.now()):
        pass


@pytest.mark.parametrize(("killed_when", "copies"), [(HOLD_BEFORE_TAKING, [1, 1]), (HOLD_AFTER_TAKING, [1, 2])])
def test_a_worker_killed_in_a_conversation_loses_no_alert(
    missed: Cast, smtp: SmtpSink, killed_when: str, copies: list[int]
) -> None:
    _run(smtp, TICK)
    smtp.answer(killed_when)
    with running(smtp, *DISPATCH) as dispatcher:
        smtp.wait_for_hold()
        kill(dispatcher)
    assert OutboxState.SENDING in _states(missed)
    _deliver_the_rest(missed)
    assert OutboxState.SENDING in _states(missed), "a lease that still runs is not taken over"
    _let_leases_run_out(missed)
    _deliver_the_rest(missed)
    assert _states(missed) == [OutboxState.SENT, OutboxState.SENT]
    ids = [letter.message_id for letter in smtp.letters]
    assert sorted(ids.count(message_id) for message_id in set(ids)) == copies
    with business_scope(missed.business_id):
        assert sorted(OutboxMessage.objects.values_list("crashes", flat=True)) == [0, 1]


def test_a_message_that_kills_its_worker_while_it_is_written_out_is_counted(missed: Cast, smtp: SmtpSink) -> None:
    with business_scope(missed.business_id):
        queue_message(kind="killer", dedupe_key="k", payload={}, due_at=timezone.now())
    killed = script(
        "import os, signal",
        "from coaching import registry",
        "from coaching.tasks import dispatch",
        "die = lambda message, now: os.kill(os.getpid(), signal.SIGKILL)",
        "registry.message_kinds['killer'] = registry.MessageKind(die, ())",
        "dispatch()",
    )
    for _ in range(2):
        with running(smtp, *killed) as process:
            assert process.wait(PATIENCE_S) == -signal.SIGKILL
        _let_leases_run_out(missed)
    with business_scope(missed.business_id):
        message = OutboxMessage.objects.get()
        assert (message.state, message.crashes) == (OutboxState.SENDING, 1)
        OutboxMessage.objects.update(crashes=CRASHES_ALLOWED - 1)
    _deliver_the_rest(missed)
    assert _states(missed) == [OutboxState.FAILED]


def test_many_processes_that_tick_and_dispatch_at_once_alert_once(missed: Cast, smtp: SmtpSink) -> None:
    with business_scope(missed.business_id):
        for number in range(20):
            plan_session(missed.ben, timezone.now().date() - timedelta(days=3), title=f"Session {number}")
    at_once = script(
        "from django.db import connection",
        "from coaching.tasks import dispatch, tick",
        f"connection.cursor().execute('SELECT pg_advisory_lock_shared({STARTING_LINE})')",
        *["tick()", "dispatch()"] * 5,
    )
    with ExitStack() as stack:
        with _starting_line(smtp) as all_waiting:
            runners = [stack.enter_context(running(smtp, *at_once)) for _ in range(3)]
            all_waiting(len(runners))
        assert [runner.wait(PATIENCE_S) for runner in runners] == [0, 0, 0]
    _deliver_the_rest(missed)
    assert sorted(letter.subject for letter in smtp.letters) == ["1 session missed", "21 sessions missed"]
    with business_scope(missed.business_id):
        assert MissedAlert.objects.count() == PlannedSession.objects.filter(state=PlannedState.MISSED).count() == 22
        assert AlertDigest.objects.count() == 2
        assert set(OutboxMessage.objects.values_list("state", "crashes")) == {(OutboxState.SENT, 0)}


def test_a_log_being_written_when_the_digest_comes_up_withdraws_it(missed: Cast, smtp: SmtpSink) -> None:
    sessions = _ticked(missed)
    written, commit = Event(), Event()
    with _in_thread(lambda: _log(missed, sessions, written=written, commit=commit)):
        assert written.wait(PATIENCE_S)
        # Neither side waits for the other: the digests are left alone until the log is in.
        _deliver_the_rest(missed)
        assert (smtp.letters, _states(missed)) == ([], [OutboxState.QUEUED, OutboxState.QUEUED])
        commit.set()
    _deliver_the_rest(missed)
    assert (smtp.letters, _states(missed)) == ([], [OutboxState.WITHDRAWN, OutboxState.WITHDRAWN])
    assert _alert_states(missed) == {AlertState.WITHDRAWN}


def test_a_log_that_comes_while_the_digest_is_being_sent_leaves_it_sent(missed: Cast, smtp: SmtpSink) -> None:
    sessions = _ticked(missed)
    smtp.answer(HOLD_AFTER_TAKING, HOLD_AFTER_TAKING)
    with _in_thread(lambda: _deliver_the_rest(missed)):
        smtp.wait_for_hold()
        _log(missed, sessions)
        smtp.release()
    # One was in the server's hands already, the other was looked at again before its turn.
    assert len(smtp.letters) == 1
    assert _states(missed) == [OutboxState.SENT, OutboxState.WITHDRAWN]
    with business_scope(missed.business_id):
        ends = set(MissedAlert.objects.values_list("state", "digest__message__state"))
    assert ends == {(AlertState.STANDING, OutboxState.SENT), (AlertState.WITHDRAWN, OutboxState.WITHDRAWN)}


def _ticked(cast: Cast) -> list[UUID]:
    detect_missed(cast.business_id, timezone.now())
    make_digests(cast.business_id, timezone.now())
    with business_scope(cast.business_id):
        return list(PlannedSession.objects.values_list("id", flat=True))


def _log(cast: Cast, sessions: list[UUID], *, written: Event | None = None, commit: Event | None = None) -> None:
    with business_scope(cast.business_id):
        on = timezone.now().date() - timedelta(days=3)
        record_performance(
            performances=[Performance(session, on, work_sets_done=12, finished=True) for session in sessions],
            now=timezone.now(),
        )
        if written and commit:
            written.set()
            assert commit.wait(PATIENCE_S)


@contextmanager
def _in_thread(work: Callable[[], None]) -> Iterator[None]:
    """Run work on a connection of its own beside the block, and wait for it after."""

    def run() -> None:
        try:
            work()
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        running_work = pool.submit(run)
        yield
        running_work.result(PATIENCE_S)


def _alert_states(cast: Cast) -> set[str]:
    with business_scope(cast.business_id):
        return set(MissedAlert.objects.values_list("state", flat=True))


@contextmanager
def _starting_line(smtp: SmtpSink) -> Iterator:
    """Hold a lock that the runners wait for, and let go of it when all of them do."""
    with psycopg.connect(environment(smtp)["DATABASE_URL"], autocommit=True) as holder:
        holder.execute("SELECT pg_advisory_lock(%s)", [STARTING_LINE])

        def all_waiting(count: int) -> None:
            waiting = 0
            until = timezone.now() + timedelta(seconds=PATIENCE_S)
            while waiting < count:
                assert timezone.now() < until, f"only {waiting} runners came to the line"
                (waiting,) = holder.execute(
                    "SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND objid = %s AND NOT granted",
                    [STARTING_LINE],
                ).fetchone() or (0,)

        yield all_waiting


def test_a_worker_and_a_beat_find_the_missed_session_and_mail_it(missed: Cast, smtp: SmtpSink, tmp_path: Path) -> None:
    app.control.purge()
    with running(smtp, *worker()), running(smtp, *beat(tmp_path)):
        # Beat's own first tick is half a minute away; its dispatches come every two seconds.
        app.send_task("coaching.tick")
        letters = smtp.wait_for_letters(2, patience_s=PATIENCE_S)
    assert sorted(letter.to for letter in letters) == [
        "cato@northern-iron.example",
        "cora@northern-iron.example",
    ]
    assert {letter.subject for letter in letters} == {"1 session missed"}


def test_a_killed_worker_is_replaced_and_the_digest_still_goes_out(
    missed: Cast, smtp: SmtpSink, tmp_path: Path
) -> None:
    app.control.purge()
    smtp.answer(TAKEN, HOLD_BEFORE_TAKING)
    with running(smtp, *beat(tmp_path)):
        with running(smtp, *worker()) as first:
            app.send_task("coaching.tick")
            smtp.wait_for_hold()
            kill(first)
        _let_leases_run_out(missed)
        with running(smtp, *worker()):
            letters = smtp.wait_for_letters(2, patience_s=PATIENCE_S)
    assert len({letter.message_id for letter in letters}) == 2
