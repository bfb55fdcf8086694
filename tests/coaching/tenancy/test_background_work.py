"""Background work stays inside the business whose turn it is, whatever is due, or named, of another."""

import re
import zipfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from inspect import signature
from typing import Any, Final
from uuid import UUID, uuid4

import pytest
import time_machine
from django.core.exceptions import ObjectDoesNotExist
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from coaching import registry
from coaching.actions.export_files import write_file
from coaching.actions.operations import cancel_operation, run_operations, take_result
from coaching.actions.outbox import deliver_due_messages, queue_message
from coaching.actions.reconciliation import RECONCILE
from coaching.actions.stale_weeks import clear_stale_weeks, mark_stale, set_aside, take_stale_weeks
from coaching.config.celery import app
from coaching.models import Operation, OutboxMessage, OutboxState, PasswordReset, SignInAttempt
from coaching.policy import Principal
from coaching.refusals import NotFound
from coaching.registry import Job
from coaching.selectors.operations import iterate_parts
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from tests.architecture.checksums import row_checksums
from tests.architecture.world import AFTER, build_world
from tests.coaching.tenancy.test_definer_functions import REVIEWED
from tests.planned_sessions import plan_session
from tests.programs.documents import MONDAY
from tests.scenario import Cast
from tests.smtp_server import SmtpSink

LATER: Final = AFTER + timedelta(days=400)
"""When everything is due that the world holds."""

JOBS: Final = [*registry.dispatch_jobs, *registry.export_jobs, *registry.tick_jobs, *registry.reconcile_jobs, RECONCILE]

EVERYBODYS: Final = {
    "purge_answers": {"coaching_passwordreset", "coaching_sessiontoken"},
    "reconcile": {"coaching_passwordreset", "coaching_sessiontoken"},
    "reseal_second_factors": {"coaching_secondfactor"},
    "tell_refused_sign_ins": {"coaching_auditentry"},
}
"""What a job changes outside the business whose turn it is. Accounts are in any number of businesses: what has ended
is deleted in anybody's turn, and a refused sign-in is told to each business of the account, about its own member."""

_OF_ACCOUNTS: Final = {
    "coaching_passwordreset": "person_id",
    "coaching_person": "id",
    "coaching_secondfactor": "person_id",
    "coaching_sessiontoken": "user_id",
}


@dataclass(frozen=True)
class Pair:
    """Two businesses in which the same things are due; `world` names the neighbour's."""

    ours: Cast
    theirs: Cast
    world: dict[str, str]


@pytest.fixture
def due(cast: Cast, neighbour: Cast) -> Iterator[Pair]:
    """Everything that any job looks for, in both."""
    with time_machine.travel(AFTER, tick=False):
        build_world(cast)
        world = build_world(neighbour)
        for one in (cast, neighbour):
            answer = one.api(one.owner).post(
                "/api/v1/clients", {"name": "Kept"}, format="json", HTTP_IDEMPOTENCY_KEY="kept"
            )
            assert answer.status_code == 201, answer.content
            asked = one.api(one.owner).post("/api/v1/exports", {"business": True}, format="json")
            assert asked.status_code == 202, asked.content
            _ask_in_vain(one)
            with business_scope(one.business_id):
                plan_session(one.carl, MONDAY)
                mark_stale(weeks=[(one.anna.id, MONDAY)], now=AFTER)
        yield Pair(cast, neighbour, world)


def _ask_in_vain(cast: Cast) -> None:
    person, address = cast.coach.person, "192.0.2.9"
    named = {"account_digest": "0" * 64, "address": address, "person": person}
    # One that waits for its mail, and one of long ago.
    PasswordReset.objects.create(requested_at=LATER, expires_at=LATER + timedelta(hours=1), **named)
    PasswordReset.objects.create(requested_at=AFTER, expires_at=AFTER, **named)
    SignInAttempt.objects.create(
        account_digest="0" * 64, person_id=person.id, address=address, refused="wrong_password", at=LATER
    )


def _checksums(cast: Cast) -> dict[str, str]:
    """Return a checksum of each table of a business, of its own row, and of its people's accounts."""
    found = row_checksums(cast.business_id)
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute("SELECT md5(b::text) FROM coaching_business b")
        found["coaching_business"] = cursor.fetchone()[0]
        for table, column in _OF_ACCOUNTS.items():
            cursor.execute(
                f"SELECT md5(string_agg(t::text, ',' ORDER BY t::text)) FROM {table} t "
                f"WHERE {column} IN (SELECT person_id FROM coaching_membership)"
            )
            found[table] = cursor.fetchone()[0]
    return found


def _changed(cast: Cast, before: dict[str, str]) -> set[str]:
    return {table for table, checksum in _checksums(cast).items() if checksum != before[table]}


def _run(job: Job, business_id: UUID) -> None:
    with time_machine.travel(LATER, tick=False):
        for _piece in range(20):
            if not job.run(business_id, LATER):
                return
    raise AssertionError(f"{job.name} comes to no end")


def test_each_job_finds_its_work_in_both_and_leaves_the_neighbours_alone(due: Pair, smtp: SmtpSink) -> None:
    before, strayed, idle = _checksums(due.theirs), {}, set()
    for job in JOBS:
        with transaction.atomic():
            _run(job, due.ours.business_id)
            changed = _changed(due.theirs, before)
            if changed - EVERYBODYS.get(job.name, set()):
                strayed[job.name] = changed
            transaction.set_rollback(True)
        with transaction.atomic():
            # The control: there was something to do in theirs.
            _run(job, due.theirs.business_id)
            if not _changed(due.theirs, before) - EVERYBODYS.get(job.name, set()):
                idle.add(job.name)
            transaction.set_rollback(True)
    assert strayed == {}
    assert idle == {"reseal_second_factors", "tell_refused_sign_ins"}, "they work on accounts only"
    # A refused sign-in is told to the businesses of its account, and to no other.
    SignInAttempt.objects.exclude(person_id=due.theirs.coach.person_id).delete()
    ours = _checksums(due.ours)
    (job,) = [job for job in JOBS if job.name == "tell_refused_sign_ins"]
    _run(job, due.ours.business_id)
    assert _changed(due.ours, ours) == set()
    assert _changed(due.theirs, before) == {"coaching_auditentry"}


def test_jobs_learn_of_others_their_ids_alone_and_letters_stay_in_the_business_whose_turn_it_is(
    due: Pair, smtp: SmtpSink
) -> None:
    _assert_asks_for_ids_alone(due)
    jobs = {job.name: job for job in JOBS}
    for name in ("queue_reset_mails", "make_digests"):
        _run(jobs[name], due.ours.business_id)
        _run(jobs[name], due.theirs.business_id)
    _run(jobs["deliver_messages"], due.ours.business_id)
    letters = smtp.wait_for_letters(2)
    theirs = {str(due.theirs.business_id), "Harbour Strength", *(str(id_) for id_ in _ids_of(due))}
    for letter in letters:
        assert letter.message_id
        text = f"{letter.subject}\n{letter.text}\n{letter.html}"
        assert "harbour-strength" not in text
        assert [word for word in theirs if word in text] == []


def _ids_of(due: Pair) -> list[str]:
    return [value for name, value in due.world.items() if name != "exercise"]


def _assert_asks_for_ids_alone(due: Pair) -> None:
    lists = {name.partition("(")[0] for name, (returns, _why) in REVIEWED.items() if returns == "SETOF uuid"}
    # Of accounts, which stand outside any business.
    accounts = r'FROM "coaching_(passwordreset|signinattempt)"|FROM memberships_of\('
    businesses = {due.ours.business_id, due.theirs.business_id}
    for job in JOBS:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            found = list(job.businesses(LATER))
        assert found, job.name
        assert set(found) <= businesses, job.name
        for query in asked.captured_queries:
            named = re.fullmatch(r"SELECT (\w+)\(.*\)", query["sql"])
            assert (named and named[1] in lists) or re.search(accounts, query["sql"]), query["sql"]


def test_a_message_of_the_queue_names_nothing() -> None:
    """Whoever writes into the broker can wake a task, and tell it nothing: its work is found in rows."""
    app.loader.import_default_modules()
    ours = {name: task for name, task in app.tasks.items() if not name.startswith("celery.")}
    assert set(ours) == {"coaching.dispatch", "coaching.export", "coaching.tick", "coaching.reconcile"}
    assert [name for name, task in ours.items() if signature(task.run).parameters] == []


def test_a_message_that_names_the_neighbours_rows_says_nothing_of_them(due: Pair, smtp: SmtpSink) -> None:
    theirs = due.theirs
    with business_scope(theirs.business_id):
        invitation = OutboxMessage.objects.get(kind="invitation")
    reset = PasswordReset.objects.get(person=theirs.coach.person, requested_at=LATER)
    payloads = {
        "invitation": invitation.payload,
        "password_reset": {"reset": str(reset.id)},
        "password_changed": {"person": str(theirs.coach.person_id), "at": AFTER.isoformat()},
        "alert_digest": {"digest": str(uuid4())},
        "missed_note": {"client": str(theirs.anna.id), "planned_sessions": [due.world["planned_session_id"]]},
    }
    assert set(payloads) == set(registry.message_kinds), "each kind of message stands here"
    with business_scope(due.ours.business_id):
        OutboxMessage.objects.all().delete()
        for kind, payload in payloads.items():
            queue_message(kind=kind, dedupe_key=f"stray:{kind}", payload=payload, due_at=AFTER)
    before = _checksums(theirs)
    with time_machine.travel(LATER, tick=False):
        while deliver_due_messages(due.ours.business_id, LATER):
            pass
    with business_scope(due.ours.business_id):
        told = {message.kind: (message.state, message.rendered) for message in OutboxMessage.objects.all()}
    withdrawn = dict.fromkeys(payloads, (OutboxState.WITHDRAWN, None))
    # A digest is found by its message, whatever the payload says.
    withdrawn["alert_digest"] = (OutboxState.RETRYING, None)
    assert told == withdrawn
    assert smtp.letters == []
    assert _changed(theirs, before) == set()


def test_the_neighbours_operation_is_neither_run_nor_cancelled_nor_read(due: Pair, tmp_path: Any) -> None:
    theirs, operation_id = due.theirs, UUID(due.world["operation_id"])
    owner = Principal(
        kind="person",
        business_id=due.ours.business_id,
        credential_id=new_id(),
        role=due.ours.owner.role,
        membership_id=due.ours.owner.id,
    )
    with business_scope(theirs.business_id):
        done = Operation.objects.get(id=operation_id)
        waiting = Operation.objects.get(state="queued")
        assert list(iterate_parts(operation_id)), "the control: it has a file"
    before = _checksums(theirs)
    with business_scope(due.ours.business_id):
        for one in (done, waiting):
            with pytest.raises(NotFound):
                cancel_operation(actor=owner, operation_id=one.id, now=AFTER)
            with pytest.raises(NotFound):
                take_result(actor=owner, operation_id=one.id, origin=None, now=AFTER)
            assert list(iterate_parts(one.id)) == []
    while run_operations(due.ours.business_id, AFTER):
        pass
    # A row of theirs in hand, as a mistake would have it: the file holds what the business in scope sees.
    with (tmp_path / "file").open("w+b") as file:
        assert write_file(done, file, business_id=due.ours.business_id, go_on=lambda _: True)
    assert not re.search(rb"anna@harbour-strength|Harbour Strength", _unzipped(tmp_path / "file"))
    assert _changed(theirs, before) == set()


def _unzipped(path: Any) -> bytes:
    with zipfile.ZipFile(path) as found:
        return b"\n".join(found.read(name) for name in found.namelist())


def _check_keys() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


def _hooks(world: dict[str, str]) -> Iterator[tuple[str, Callable[[], Any]]]:
    client, session = UUID(world["client_id"]), UUID(world["planned_session_id"])
    exercise, other = UUID(world["exercise_id"]), UUID(world["other_exercise_id"])
    arguments: dict[str, tuple[Any, ...]] = {
        "on_client_zone_changed": (client, "America/Lima", AFTER),
        "on_place_changed": (client, AFTER),
        "on_absence_changed": (client, AFTER),
        "on_planned_sessions_changed": ([session], AFTER),
        "on_session_days_changed": ([session], AFTER),
        "on_exercises_merged": (exercise, other, AFTER),
        "on_exercises_changed": ([exercise], AFTER),
        "before_client_erased": (client, AFTER),
        "on_client_erased": (client, AFTER),
        "on_business_policy_changed": (frozenset({"week_start", "grace_h", "day_ends_at"}), AFTER),
        "on_business_created": (UUID(world["business_id"]),),
    }
    hooks = {name: found for name, found in vars(registry).items() if name.startswith(("on_", "before_"))}
    assert set(hooks) == set(arguments), "each hook of the registry stands here"
    for name, found in hooks.items():
        for follow in found:
            yield f"{name} {follow.__module__}", partial(follow, *arguments[name])


def test_a_hook_or_a_mark_that_names_the_neighbours_ids_reaches_none_of_their_rows(due: Pair) -> None:
    before, reached, ran = _checksums(due.theirs), {}, 0
    for name, follow in _hooks(due.world):
        with transaction.atomic():
            # Refusing is as good; what counts is what is left.
            with suppress(DatabaseError, ObjectDoesNotExist), business_scope(due.ours.business_id):
                follow()
                _check_keys()
            changed = _changed(due.theirs, before)
            transaction.set_rollback(True)
        ran += 1
        if changed:
            reached[name] = changed
    assert reached == {}
    assert ran >= 12
    _assert_marks_stay_apart(due)


def _assert_marks_stay_apart(due: Pair) -> None:
    before = _checksums(due.theirs)
    with transaction.atomic(), business_scope(due.theirs.business_id):
        theirs = take_stale_weeks(limit=10)
        assert theirs
        transaction.set_rollback(True)
    with business_scope(due.ours.business_id):
        assert {mark.client_id for mark in take_stale_weeks(limit=100)}.isdisjoint(mark.client_id for mark in theirs)
        clear_stale_weeks(marks=theirs)
        assert set_aside(mark=theirs[0]) == 0
        with pytest.raises(IntegrityError), transaction.atomic():
            _mark(due.theirs)
    assert _changed(due.theirs, before) == set()


def _mark(cast: Cast) -> None:
    mark_stale(weeks=[(cast.anna.id, MONDAY)], now=AFTER)
    _check_keys()
