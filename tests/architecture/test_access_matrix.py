"""Every operation of the schema as every credential: what the table says, and what the service does.

`manage.py access_matrix` prints the same.
"""

import csv
import io
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from coaching.models import Role
from coaching.policy import OPERATIONS, Scope
from tests.architecture.access import (
    Answer,
    Cell,
    drive,
    faults,
    matrix_calls,
    roles_and_scopes_without_a_credential,
    schema_operations,
)
from tests.architecture.access_exceptions import EXCEPTIONS
from tests.architecture.access_report import as_csv, table
from tests.conftest import empty_tables


@pytest.fixture(scope="module")
def cells(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[Cell, ...]]:
    """The whole matrix, called once."""
    with django_db_blocker.unblock():
        try:
            yield drive(EXCEPTIONS)
        finally:
            empty_tables()


def test_each_operation_answers_each_credential_as_the_table_says(cells: tuple[Cell, ...]) -> None:
    assert faults(cells) == []


def test_the_matrix_holds_every_operation_of_the_schema_and_of_the_table(cells: tuple[Cell, ...]) -> None:
    operations = {call.operation for call in matrix_calls()}
    assert operations == set(OPERATIONS) == {cell.operation for cell in cells}
    assert {name.replace(".", "_") for name in operations} == schema_operations()
    credentials = {cell.credential.column for cell in cells}
    assert len(cells) == len(operations) * len(credentials)


def test_the_matrix_has_a_credential_of_every_role_and_of_every_scope_alone(cells: tuple[Cell, ...]) -> None:
    assert roles_and_scopes_without_a_credential(cells) == set()
    without_viewers = [cell for cell in cells if cell.credential.role != Role.VIEWER]
    assert roles_and_scopes_without_a_credential(without_viewers) == {Role.VIEWER}
    without_the_scope = [cell for cell in cells if cell.credential.scopes != {Scope.PLANS_READ}]
    assert roles_and_scopes_without_a_credential(without_the_scope) == {Scope.PLANS_READ}


def test_what_is_only_read_is_never_refused_to_the_owner(cells: tuple[Cell, ...]) -> None:
    """The control: the matrix's ids are real ones to those who may see them."""
    refused = {cell.operation for cell in cells if cell.credential.column == "owner" and cell.seen != Answer.ALLOWED}
    assert refused == {"sessions.create"}


@pytest.mark.parametrize("exception", EXCEPTIONS, ids=lambda one: min(one.operations))
def test_each_exception_is_one_for_each_of_its_operations(cells: tuple[Cell, ...], exception: Any) -> None:
    """An exception that the table would say by itself must go."""
    said = {
        cell.operation
        for cell in cells
        if cell.operation in exception.operations
        and exception.credentials(cell.credential)
        and cell.expected == exception.answer != cell.by_the_table
    }
    assert said == exception.operations
    assert exception.why


def test_a_difference_is_told_in_print_and_as_a_fault(cells: tuple[Cell, ...]) -> None:
    wrong = replace(next(cell for cell in cells if cell.operation == "flags.list"), seen="404")
    others = tuple(cell for cell in cells if cell.operation == "me.read")
    assert faults((wrong, *others)) == ["flags.list as owner: + expected, 404 seen"]
    printed = table((wrong, *others), EXCEPTIONS)
    assert "+!404" in printed
    assert "1 differences" in printed


def test_the_matrix_is_one_line_an_operation_and_in_csv_one_a_cell(cells: tuple[Cell, ...]) -> None:
    lines = table(cells, EXCEPTIONS).splitlines()
    assert {line.split()[0] for line in lines if line.split()[:1] and line.split()[0] in OPERATIONS} == set(OPERATIONS)
    rows = list(csv.DictReader(io.StringIO(as_csv(cells))))
    assert len(rows) == len(cells)
    assert {"operation": "flags.list", "credential": "owner", "expected": "+", "seen": "+"} in rows
