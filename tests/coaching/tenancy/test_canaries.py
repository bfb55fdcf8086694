"""A word in every text of one business stands in no answer, no file and no line of the log of another."""

import io
import logging
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final
from uuid import UUID

import pytest
import time_machine
from django.contrib.postgres.fields import ArrayField
from django.db import DatabaseError, connection, models, transaction

from coaching.actions.operations import run_operations
from coaching.tenancy.scope import business_scope
from tests.architecture.calls import CALLS, Call
from tests.architecture.world import AFTER, build_world
from tests.business_models import BUSINESS_MODELS
from tests.coaching.test_policy import VIEWS
from tests.password_hashers import QUICK
from tests.scenario import Cast

CANARY: Final = "zq7zq7"
"""Short, so that it fits where little does; and in no word, and by no chance in what is signed or random."""

_TOLD: Final = {
    "business.read",
    "clients.list",
    "clients.read",
    "coaches.list",
    "programs.list",
    "places.list",
    "set_logs.list",
    "check_in_forms.list",
    "api_keys.list",
}
"""Operations that tell their own business what the canary stands in."""

_SHORTEST: Final = 12
_NOT_FREE: Final = {"digest", "previous_digest", "prefix", "fingerprint"}


def _plant(business_id: UUID) -> set[str]:
    """Put the canary into every row's every column of free text that takes it; return the columns that did."""
    planted = set()
    with business_scope(business_id), connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for model in BUSINESS_MODELS:
            for column in model._meta.concrete_fields:
                value = _value(column)
                if value and _written(model._meta.db_table, column.column, value):
                    planted.add(f"{model._meta.db_table}.{column.column}")
        cursor.execute("UPDATE coaching_business SET name = %s", [f"{CANARY} gym"])
        cursor.execute(
            "UPDATE coaching_person SET name = %s, email = %s || email "
            "WHERE id IN (SELECT person_id FROM coaching_membership)",
            [f"{CANARY} somebody", CANARY],
        )
    return planted


def _value(column: Any) -> str | None:
    """Return the SQL that puts it in, alike in each row but where rows must differ."""
    if column.choices or column.is_relation or column.primary_key or column.name in _NOT_FREE:
        return None
    if isinstance(column, ArrayField):
        return f"ARRAY['{CANARY}']" if isinstance(column.base_field, models.CharField) else None
    if isinstance(column, models.JSONField):
        return (
            f"""CASE jsonb_typeof({column.column}) WHEN 'array' THEN {column.column} || '["{CANARY}"]' """
            f"""WHEN 'object' THEN {column.column} || '{{"{CANARY}": "{CANARY}"}}' END"""
        )
    if isinstance(column, models.CharField | models.TextField) and not isinstance(column, models.UUIDField):
        longest = column.max_length or 200
        # What is shorter is a word of the service's own, such as a unit.
        if longest < _SHORTEST:
            return None
        return f"left('{CANARY}' || {column.column} || right(id::text, 6), {longest})"
    return None


def _written(table: str, column: str, value: str) -> bool:
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"UPDATE {table} SET {column} = {value}")
            return bool(cursor.rowcount)
    except DatabaseError:
        return False


@dataclass
class Heard:
    """What a business was answered, of all that it asked."""

    answers: dict[str, str] = field(default_factory=dict)

    def note(self, what: str, answer: Any) -> None:
        """Keep an answer with its headers; of a file, what is packed in it."""
        body = answer.content
        if body[:2] == b"PK":
            with zipfile.ZipFile(io.BytesIO(body)) as packed:
                body = b"\n".join(name.encode() + packed.read(name) for name in packed.namelist())
        self.answers[what] = f"{answer.status_code} {dict(answer.headers)} {body.decode(errors='replace')}"

    def holding(self, word: str) -> list[str]:
        """Return what was asked where the answer holds a word."""
        return [what for what, text in self.answers.items() if re.search(word, text, re.IGNORECASE)]


def _asked(api: Any, call: Call, ids: dict[str, str]) -> Any:
    with transaction.atomic():
        answer = call.send(api, ids)
        if getattr(answer, "streaming", False):
            answer.content = b"".join(answer.streaming_content)
        transaction.set_rollback(True)
        return answer


def _searches(ids: dict[str, str]) -> Iterator[tuple[Any, str]]:
    """Yield each filter of a list that takes words, with an address that looks for the canary."""
    for path, view in VIEWS:
        for parameter in view.parameters_of("GET") if "GET" in getattr(view, "operations", {}) else ():
            if parameter.kind == "text" and not parameter.choices and "<" not in path and parameter.name != "cursor":
                yield parameter, f"{Call('', 'GET', path).address(ids)}?{parameter.name}={CANARY}"


def test_a_word_in_every_text_of_a_business_is_heard_nowhere_in_another(
    cast: Cast, neighbour: Cast, settings: Any, caplog: pytest.LogCaptureFixture
) -> None:
    settings.PASSWORD_HASHERS = QUICK
    with time_machine.travel(AFTER, tick=False):
        world, own = build_world(cast), build_world(neighbour)
        planted = _plant(cast.business_id)
        assert len(planted) > 60
        api, heard = neighbour.api(neighbour.owner), Heard()
        caplog.clear()
        caplog.set_level(logging.INFO)
        for call in CALLS:
            if call.method == "GET":
                heard.note(f"{call}, of its own", _asked(api, call, own))
            if call.method != "GET" or call.differs(own, world):
                heard.note(f"{call}, of the other's", _asked(api, call, world))
        asked = api.post("/api/v1/exports", {"business": True}, format="json").json()["id"]
        while run_operations(neighbour.business_id, AFTER):
            pass
        heard.note("the export", _asked(api, _call("operations.result"), {**own, "operation_id": asked}))
        lines = caplog.text
        searches = [(parameter, api.get(address)) for parameter, address in _searches(own)]
        # The control: who may see them does.
        told = Heard()
        for operation in _TOLD:
            told.note(operation, _asked(cast.api(cast.owner), _call(operation), world))
    assert heard.holding(CANARY) == []
    assert CANARY not in lines.lower()
    assert "harbour-strength" in heard.answers["the export"]
    assert [parameter.name for parameter, answer in searches if answer.json().get("items")] == []
    assert {"name", "search"} <= {parameter.name for parameter, _answer in searches}
    assert set(told.holding(CANARY)) == _TOLD
    assert lines, "the control: something was logged"


def _call(operation: str) -> Call:
    return next(call for call in CALLS if call.operation == operation)
