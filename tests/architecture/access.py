"""The matrix: every operation of the schema as every credential, expected by the table and seen by calling.

Expected is worked out from `coaching.policy.OPERATIONS`, from whose rows a call names, and from the reviewed
exceptions beside this file; seen is what the whole service answered. A call is rolled back before the next.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

import time_machine
from django.db import transaction
from django.test.utils import override_settings
from drf_spectacular.generators import SchemaGenerator

from coaching.http.rate_policy import RateClass
from coaching.models import Role
from coaching.policy import OPERATIONS, OWN_ACCOUNT, Scope
from coaching.refusals import UnknownObject
from tests.architecture.calls import CALLS, Call, Ids
from tests.architecture.credentials import Credential, build_credentials
from tests.architecture.world import AFTER, CLIENTS_OWN, build_world
from tests.password_hashers import QUICK
from tests.scenario import build_business


class Answer(StrEnum):
    """What a caller is told, as far as access goes; its value is the matrix's symbol."""

    ALLOWED = "+"
    UNKNOWN_IN_BODY = "b"
    NO_CREDENTIAL = "401"
    FORBIDDEN = "403"
    NOT_FOUND = "404"


LEGEND: Final = (
    "+    allowed: neither 401, 403 nor 404, and no id of the body was refused (what it did is each operation's tests)",
    "b    allowed, but an id in the body is refused as naming nothing they may see (400, or refused in a 200)",
    "401  no good credential        403  not for this role or these scopes        404  no such object for this caller",
    "x!y  a difference: x expected, y seen        *  beside the operation: a reviewed exception, given below",
)
_BEN: Final = frozenset({"absence_id", "invitation_id"})
"""The world's ids that are Ben's; the others of one client are Anna's."""

_PLAIN: Final = frozenset({401, 403, 404, 429})
_UNKNOWN: Final = (UnknownObject.code, "unknown_exercise")
_NOTHING: Final = str(UUID(int=0))


_SETTINGS: Final[dict[str, Any]] = {
    "PASSWORD_HASHERS": QUICK,
    "RATE_LIMITS": dict.fromkeys(RateClass, 10_000_000),
    "ALLOWED_HOSTS": ["testserver"],
}
"""Nobody waits, and the requests of a test reach the service from a management command too."""


@dataclass(frozen=True)
class Exceptional:
    """A reviewed exception: what these operations answer these credentials otherwise than the table says, and why."""

    operations: frozenset[str]
    credentials: Callable[[Credential], bool]
    answer: Answer
    why: str


@dataclass(frozen=True)
class Cell:
    """One operation as one credential: what the table says, also with the exceptions, and what the service did.

    `seen` is a symbol, or the status of an answer that has none.
    """

    operation: str
    credential: Credential
    by_the_table: Answer
    expected: Answer
    seen: str

    @property
    def differs(self) -> bool:
        """Say whether the service did otherwise than the table says."""
        return self.seen != self.expected


@cache
def schema_operations() -> frozenset[str]:
    """Return the operations of the OpenAPI document, by their ids."""
    paths = SchemaGenerator().get_schema(request=None, public=True)["paths"]
    return frozenset(operation["operationId"] for methods in paths.values() for operation in methods.values())


def matrix_calls() -> list[Call]:
    """Return one call of each operation of the schema, in its order of names.

    Raises:
        LookupError: an operation of the schema has no call, or the other way round.
    """
    first = {call.operation.replace(".", "_"): call for call in reversed(CALLS)}
    if set(first) != schema_operations():
        raise LookupError(f"Not both in the schema and among the calls: {sorted(set(first) ^ schema_operations())}")
    return sorted(first.values(), key=str)


def expected(found: Answer, call: Call, credential: Credential, exceptions: Iterable[Exceptional]) -> Answer:
    """Return what the table of roles and scopes says of a call, or a reviewed exception from it."""
    if found in {Answer.NO_CREDENTIAL, Answer.FORBIDDEN}:
        return found
    for exception in exceptions:
        if call.operation in exception.operations and exception.credentials(credential):
            return exception.answer
    return found


def by_the_table(call: Call, credential: Credential, ids: Ids) -> Answer:
    """Return what roles, scopes and clients say of a call."""
    entry = OPERATIONS[call.operation]
    if entry.anyone:
        return Answer.ALLOWED
    if not credential.good:
        return Answer.NO_CREDENTIAL
    if credential.role not in entry.roles and not credential.scopes & entry.scopes:
        return Answer.FORBIDDEN
    if not credential.has_factor and call.operation.partition(".")[0] not in OWN_ACCOUNT:
        return Answer.FORBIDDEN
    return _by_rows(call, credential, ids)


def _by_rows(call: Call, credential: Credential, ids: Ids) -> Answer:
    visible = {name: _NOTHING if hidden_from(credential, name) else value for name, value in ids.items()}
    path, _mark, query = call.address(ids).partition("?")
    visible_path, _mark, visible_query = call.address(visible).partition("?")
    if visible_path != path:
        return Answer.NOT_FOUND
    same = (visible_query, call.body(visible)) == (query, call.body(ids))
    return Answer.ALLOWED if same else Answer.UNKNOWN_IN_BODY


def hidden_from(credential: Credential, name: str) -> bool:
    """Say whether one of the world's ids names what the credential may not see."""
    if not credential.in_business:
        # A catalogue's key names an exercise of every business.
        return name != "exercise"
    return name in CLIENTS_OWN and ("ben" if name in _BEN else "anna") not in credential.clients


def drive(exceptions: Iterable[Exceptional], *, calling: bool = True) -> tuple[Cell, ...]:
    """Make both businesses and every credential, committed, and call every operation as each.

    Each credential's calls are a transaction of their own: one round all would outlast what a transaction may.
    """
    with time_machine.travel(AFTER, tick=False), override_settings(**_SETTINGS):
        cast, neighbour = build_business("Northern Iron"), build_business("Harbour Strength")
        ids = build_world(cast)
        calls, exceptions = matrix_calls(), tuple(exceptions)
        cells = []
        for credential in build_credentials(cast, neighbour):
            with rolled_back():
                credential.before()
                for call in calls:
                    said = by_the_table(call, credential, ids)
                    wanted = expected(said, call, credential, exceptions)
                    seen = _answer_to(call, credential, ids) if calling else wanted
                    cells.append(Cell(call.operation, credential, said, wanted, seen))
        return tuple(cells)


@contextmanager
def rolled_back() -> Iterator[None]:
    """Take back whatever is done inside."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def _answer_to(call: Call, credential: Credential, ids: Ids) -> str:
    with rolled_back():
        answer = call.send(credential.api, ids)
        status, body = answer.status_code, b"" if answer.streaming else answer.content
    if status in _PLAIN or status >= HTTPStatus.INTERNAL_SERVER_ERROR:
        return str(status)
    return Answer.UNKNOWN_IN_BODY if _names_an_unknown(call, body) else Answer.ALLOWED


def _names_an_unknown(call: Call, body: bytes) -> bool:
    # Of many at once, each is answered for itself, in a 200.
    return call.method != "GET" and any(f'"code":"{code}"'.encode() in body for code in _UNKNOWN)


def faults(cells: Iterable[Cell]) -> list[str]:
    """Return each difference, as a sentence."""
    return [
        f"{cell.operation} as {cell.credential.name}: {cell.expected} expected, {cell.seen} seen"
        for cell in cells
        if cell.differs
    ]


def roles_and_scopes_without_a_credential(cells: Iterable[Cell]) -> set[str]:
    """Return the roles, and the scopes alone, that no credential of the matrix has."""
    credentials = {cell.credential.column: cell.credential for cell in cells}.values()
    single = {scope for one in credentials if len(one.scopes) == 1 for scope in one.scopes}
    return {*Role, *Scope} - {one.role for one in credentials} - single
