"""Workers killed in the middle of a delivery, and many that run at once: nothing lost, no copy without a kill."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import timedelta
from pathlib import Path

import psycopg
import pytest
from django.db import connection
from django.utils import timezone

from coaching.actions.outbox import deliver_due_messages
from coaching.config.celery import app
from coaching.models import Business, OutboxMessage, OutboxState
from coaching.tenancy.scope import business_scope
from logs.models import AlertDigest, MissedAlert
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
        cursor.execute(
            "UPDATE coaching_outboxmessage SET lease_until = clock_timestamp() WHERE state = 'sending'"
        )


def _deliver_the_rest(cast: Cast) -> None:
    while deliver_due_messages(cast.business_id, timezone.now()):
        pass


@pytest.mark.parametrize(
    ("killed_when", "copies"), [(HOLD_BEFORE_TAKING, [1, 1]), (HOLD_AFTER_TAKING, [1, 2])]
)
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


def test_a_worker_and_a_beat_find_the_missed_session_and_mail_it(
    missed: Cast, smtp: SmtpSink, tmp_path: Path
) -> None:
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
