"""What is queued is delivered once, whatever the mail server says and whoever dies."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import connection

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.actions.outbox import (
    CRASHES_ALLOWED,
    NewMessage,
    deliver_due_messages,
    message_id_of,
    queue_message,
    queue_messages,
)
from coaching.models import OutboxMessage, OutboxState
from coaching.registry import EMAIL_RETRY_AFTER, MessageKind, Postponed, Rendered, Withdrawn
from coaching.selectors.due_work import list_businesses_with_due_messages
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from tests.scenario import NOON, Cast
from tests.smtp_server import HANG_UP, HANG_UP_AFTER_TAKING, SmtpSink


def _prepare(message: OutboxMessage, now: datetime) -> Rendered | Withdrawn | Postponed:
    match message.payload.get("do"):
        case "raise":
            raise ArithmeticError("a poisoned payload")
        case "withdraw":
            return Withdrawn("It is no longer true.")
        case "postpone":
            return Postponed(now + timedelta(hours=2)) if now < NOON + timedelta(hours=2) else _said(message, now)
        case "lose the lease":
            OutboxMessage.objects.filter(id=message.id).update(lease_token=new_id())
        case _:
            pass
    return Rendered(**message.rendered) if message.rendered else _said(message, now)


def _said(message: OutboxMessage, now: datetime) -> Rendered:
    to = message.payload.get("to", "cora@northern-iron.example")
    return Rendered(to=to, subject="A letter", text=f"Written at {now:%H:%M}.", html="<p>Written.</p>")


@pytest.fixture(autouse=True)
def letters(monkeypatch: pytest.MonkeyPatch) -> None:
    """A kind of message of the tests' own."""
    monkeypatch.setitem(registry.message_kinds, "letter", MessageKind(_prepare, EMAIL_RETRY_AFTER))


def _queue(cast: Cast, key: str = "one", *, due_at: datetime = NOON, **payload: Any) -> UUID:
    with business_scope(cast.business_id):
        return queue_message(kind="letter", dedupe_key=key, payload=payload, due_at=due_at)


def _get(cast: Cast, message_id: UUID) -> OutboxMessage:
    with business_scope(cast.business_id):
        return OutboxMessage.objects.get(id=message_id)


def _deliver_all(cast: Cast, now: datetime) -> None:
    while deliver_due_messages(cast.business_id, now):
        pass


def _let_the_lease_run_out(cast: Cast, message_id: UUID) -> None:
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_outboxmessage SET state = 'sending', lease_token = gen_random_uuid(), "
            "lease_until = clock_timestamp() - interval '1 second' WHERE id = %s",
            [message_id],
        )


def test_a_due_message_is_sent_once_however_often_the_dispatcher_runs(cast: Cast, smtp: SmtpSink) -> None:
    message_id = _queue(cast)
    _deliver_all(cast, NOON)
    _deliver_all(cast, NOON + timedelta(days=1))
    (letter,) = smtp.letters
    assert letter.to == "cora@northern-iron.example"
    assert letter.message_id == message_id_of(message_id)
    message = _get(cast, message_id)
    assert (message.state, message.settled_at, message.lease_token) == (OutboxState.SENT, NOON, None)


def test_a_message_waits_until_it_is_due(cast: Cast, smtp: SmtpSink) -> None:
    _queue(cast, due_at=NOON + timedelta(minutes=1))
    _deliver_all(cast, NOON)
    assert smtp.letters == []
    _deliver_all(cast, NOON + timedelta(minutes=1))
    assert len(smtp.letters) == 1


def test_the_same_dedupe_key_queues_nothing_more(cast: Cast, smtp: SmtpSink) -> None:
    first = _queue(cast, "same")
    assert _queue(cast, "same") == first
    with business_scope(cast.business_id):
        queue_messages(messages=[NewMessage("letter", key, {}, NOON) for key in ("same", "another", "another")])
    _deliver_all(cast, NOON)
    assert len(smtp.letters) == 2


def test_a_temporary_refusal_is_retried_later_with_the_same_words_and_message_id(cast: Cast, smtp: SmtpSink) -> None:
    smtp.answer("450 4.2.0 Greylisted, come back")
    message_id = _queue(cast)
    _deliver_all(cast, NOON)
    message = _get(cast, message_id)
    assert (message.state, message.attempts, message.crashes) == (OutboxState.RETRYING, 1, 0)
    assert "450" in message.last_problem
    assert "Greylisted" in message.last_problem
    _deliver_all(cast, NOON + timedelta(seconds=59))
    assert smtp.conversations == 1
    _deliver_all(cast, NOON + timedelta(minutes=1))
    (letter,) = smtp.letters
    assert letter.message_id == message_id_of(message_id)
    assert letter.text.strip() == "Written at 12:00."
    assert _get(cast, message_id).state == OutboxState.SENT


def test_a_message_refused_for_about_a_day_has_failed(cast: Cast, smtp: SmtpSink) -> None:
    smtp.answer_for("cora@northern-iron.example", "data: 451 4.3.0 Not now")
    message_id = _queue(cast)
    now = NOON
    while (message := _get(cast, message_id)).state != OutboxState.FAILED:
        now = message.due_at
        _deliver_all(cast, now)
    assert message.attempts == smtp.conversations == len(EMAIL_RETRY_AFTER) + 1
    assert timedelta(hours=20) < now - NOON < timedelta(hours=28)
    assert "451" in message.last_problem
    assert smtp.letters == []


@pytest.mark.parametrize("answer", ["550 5.1.1 Nobody here", "data: 554 5.7.1 Not wanted"])
def test_a_final_refusal_is_not_retried(cast: Cast, smtp: SmtpSink, answer: str) -> None:
    smtp.answer(answer)
    message_id = _queue(cast)
    _deliver_all(cast, NOON)
    message = _get(cast, message_id)
    assert (message.state, message.attempts, message.settled_at) == (OutboxState.FAILED, 1, NOON)
    _deliver_all(cast, NOON + timedelta(days=2))
    assert smtp.conversations == 1


def test_a_server_that_hangs_up_is_tried_again(cast: Cast, smtp: SmtpSink) -> None:
    smtp.answer(HANG_UP)
    message_id = _queue(cast)
    _deliver_all(cast, NOON)
    assert _get(cast, message_id).state == OutboxState.RETRYING
    _deliver_all(cast, NOON + timedelta(minutes=1))
    assert len(smtp.letters) == 1


def test_a_copy_sent_because_the_answer_was_lost_carries_the_same_message_id(cast: Cast, smtp: SmtpSink) -> None:
    smtp.answer(HANG_UP_AFTER_TAKING)
    _queue(cast)
    _deliver_all(cast, NOON)
    _deliver_all(cast, NOON + timedelta(minutes=1))
    first, second = smtp.letters
    assert first.message_id == second.message_id


def test_a_mail_server_that_is_away_costs_nothing_but_time(cast: Cast, smtp: SmtpSink, settings: Any) -> None:
    port, settings.EMAIL_PORT = settings.EMAIL_PORT, 1
    message_id = _queue(cast)
    _deliver_all(cast, NOON)
    assert _get(cast, message_id).state == OutboxState.RETRYING
    settings.EMAIL_PORT = port
    _deliver_all(cast, NOON + timedelta(minutes=1))
    assert len(smtp.letters) == 1


def test_a_poisoned_message_does_not_stop_the_others_and_fails_in_the_end(cast: Cast, smtp: SmtpSink) -> None:
    poisoned = _queue(cast, "poisoned", due_at=NOON - timedelta(hours=1), do="raise")
    _queue(cast, "good")
    _deliver_all(cast, NOON)
    assert len(smtp.letters) == 1
    assert _get(cast, poisoned).state == OutboxState.RETRYING
    for minutes in range(1, CRASHES_ALLOWED + 1):
        _deliver_all(cast, NOON + timedelta(minutes=minutes))
    message = _get(cast, poisoned)
    assert (message.state, message.crashes, message.attempts) == (OutboxState.FAILED, CRASHES_ALLOWED, 0)


def test_a_kind_that_nobody_registered_does_not_stop_the_others(cast: Cast, smtp: SmtpSink) -> None:
    with business_scope(cast.business_id):
        queue_message(kind="unheard-of", dedupe_key="u", payload={}, due_at=NOON - timedelta(hours=1))
    _queue(cast)
    _deliver_all(cast, NOON)
    assert len(smtp.letters) == 1


def test_a_leased_message_is_left_to_its_worker_until_the_lease_runs_out(cast: Cast, smtp: SmtpSink) -> None:
    message_id = _queue(cast)
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_outboxmessage SET state = 'sending', lease_token = gen_random_uuid(), "
            "lease_until = clock_timestamp() + interval '1 minute'"
        )
    _deliver_all(cast, NOON + timedelta(days=1))
    assert smtp.letters == []
    _let_the_lease_run_out(cast, message_id)
    _deliver_all(cast, NOON)
    message = _get(cast, message_id)
    assert (message.state, message.crashes) == (OutboxState.SENT, 1)
    assert len(smtp.letters) == 1


def test_a_message_that_kills_its_worker_again_and_again_is_given_up(cast: Cast, smtp: SmtpSink) -> None:
    message_id = _queue(cast)
    with business_scope(cast.business_id):
        OutboxMessage.objects.update(crashes=CRASHES_ALLOWED - 1)
    _let_the_lease_run_out(cast, message_id)
    _deliver_all(cast, NOON)
    message = _get(cast, message_id)
    assert (message.state, message.crashes) == (OutboxState.FAILED, CRASHES_ALLOWED)
    assert smtp.letters == []


def test_a_worker_whose_lease_was_taken_over_marks_nothing(cast: Cast, smtp: SmtpSink) -> None:
    message_id = _queue(cast, do="lose the lease")
    deliver_due_messages(cast.business_id, NOON)
    message = _get(cast, message_id)
    assert message.state == OutboxState.SENDING
    assert message.settled_at is None


def test_a_message_whose_ground_is_gone_is_withdrawn_with_its_reason(cast: Cast, smtp: SmtpSink) -> None:
    message_id = _queue(cast, do="withdraw")
    _deliver_all(cast, NOON)
    message = _get(cast, message_id)
    assert (message.state, message.last_problem) == (OutboxState.WITHDRAWN, "It is no longer true.")
    assert smtp.conversations == 0


def test_a_postponed_message_goes_out_when_its_time_has_come(cast: Cast, smtp: SmtpSink) -> None:
    message_id = _queue(cast, do="postpone")
    _deliver_all(cast, NOON)
    message = _get(cast, message_id)
    assert (message.state, message.due_at) == (OutboxState.QUEUED, NOON + timedelta(hours=2))
    assert smtp.letters == []
    _deliver_all(cast, NOON + timedelta(hours=2))
    assert len(smtp.letters) == 1


def test_businesses_take_turns(cast: Cast, neighbour: Cast, smtp: SmtpSink) -> None:
    for number in range(3):
        _queue(cast, f"c{number}", due_at=NOON - timedelta(hours=1), to="cast@example.com")
    _queue(neighbour, "n", to="neighbour@example.com")
    job = registry.Job("deliver", list_businesses_with_due_messages, deliver_due_messages)
    run_due_jobs(jobs=[job], now=NOON, seconds=30)
    assert [letter.to for letter in smtp.letters] == [
        "cast@example.com",
        "neighbour@example.com",
        "cast@example.com",
        "cast@example.com",
    ]


def test_a_message_that_a_closed_business_left_is_not_looked_for(cast: Cast) -> None:
    _queue(cast)
    assert list_businesses_with_due_messages(NOON) == [cast.business_id]
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute("UPDATE coaching_business SET state = 'closed'")
    assert list_businesses_with_due_messages(datetime(2040, 1, 1, tzinfo=UTC)) == []
