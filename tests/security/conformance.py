"""Requests that schemathesis makes up from the service's own schema, and where an answer is not what the schema says.

Run in this process and in the test's own transaction: each request is rolled back, so that all meet the same world.
"""

import random
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any, Final

import hypothesis
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections, connection, transaction
from hypothesis import HealthCheck, Phase
from schemathesis import Case, GenerationMode
from schemathesis.core.failures import Failure, FailureGroup
from schemathesis.core.parameters import ParameterLocation

from coaching.config.wsgi import application

SEED: Final = 20310314
_MODES: Final = [GenerationMode.POSITIVE, GenerationMode.NEGATIVE]

# What a schema can't say of a well-formed request: which ids, dates and states there are (400, 412, 422).
_SEMANTIC_REFUSALS: Final = ("400", "412", "422")

_NAMED: Final[Mapping[str, str]] = {
    "client": "client_id",
    "coach": "coach_id",
    "exercise": "exercise",
    "substitute": "other_exercise_id",
    "into": "other_exercise_id",
    "version": "version_id",
    "against": "version_id",
    "variant": "variant_id",
    "planned_session": "planned_session_id",
    "place": "place_id",
    "assignment": "assignment_id",
    "form": "form_id",
    "session_log": "session-logs",
}
"""Which of the world's ids a field of a body or a filter means."""


def published_schema() -> Any:
    """Return the schema as the service serves it."""
    schema = schemathesis.openapi.from_wsgi("/api/v1/schema", application)
    checks = schema.config.checks
    checks.positive_data_acceptance.expected_statuses = [
        *checks.positive_data_acceptance.expected_statuses,
        *_SEMANTIC_REFUSALS,
    ]
    # RFC 6585 has a status of its own for a missing If-Match.
    checks.missing_required_header.expected_statuses = [*checks.missing_required_header.expected_statuses, "428"]
    return schema


@contextmanager
def one_connection() -> Iterator[None]:
    """Answer WSGI requests on the test's own connection, for as long as it takes."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT set_config(name, '0', true) FROM pg_settings WHERE name IN ('transaction_timeout', "
            "'statement_timeout', 'idle_in_transaction_session_timeout')"
        )
    try:
        yield
    finally:
        for signal in (request_started, request_finished):
            signal.connect(close_old_connections)


def covering_cases(operation: Any, *, most: int, rng: random.Random) -> list[Case]:
    """Return cases for each bound, type, enum and missing part that the operation declares, or a sample of them."""
    generation = operation.schema.config.generation_for(operation=operation, phase="coverage")
    cases = list(operation.schema.iter_coverage_cases(operation, generation_modes=_MODES, generation_config=generation))
    return rng.sample(cases, most) if len(cases) > most else cases


def drawn_cases(operation: Any, *, examples: int) -> list[Case]:
    """Return cases drawn at random, well-formed and not; the same ones at each run."""
    drawn: list[Case] = []
    for mode in _MODES:
        try:
            _draw(operation.as_strategy(generation_mode=mode), examples, drawn)
        except hypothesis.errors.Unsatisfiable:
            # There is nothing to get wrong in a request without parameters or body.
            continue
    return drawn


def _draw(strategy: Any, examples: int, drawn: list[Case]) -> None:
    @hypothesis.seed(SEED)
    @hypothesis.settings(
        max_examples=examples,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @hypothesis.given(case=strategy)
    def keep(case: Case) -> None:
        drawn.append(case)

    keep()


def aim(case: Case, ids: Mapping[str, str]) -> Case:
    """Fill what the case got right with ids of real objects, so that it reaches further than `404`."""
    if _is_right(case, ParameterLocation.PATH):
        for name in case.path_parameters or {}:
            kind = case.operation.path.split("/")[3] if name == "log_id" else name
            case.path_parameters[name] = ids.get(kind, case.path_parameters[name])
    if _is_right(case, ParameterLocation.HEADER) and "If-Match" in (case.headers or {}):
        case.headers["If-Match"] = "*"
    if _is_right(case, ParameterLocation.BODY) and isinstance(case.body, dict):
        case.body = _aimed(case.body, ids)
    if _is_right(case, ParameterLocation.QUERY) and case.query:
        case.query = {name: value for name, value in _aimed(dict(case.query), ids).items() if name != "cursor"}
    return case


def _is_right(case: Case, place: ParameterLocation) -> bool:
    component = case.meta.components.get(place) if case.meta else None
    return component is None or component.mode == GenerationMode.POSITIVE


def _aimed(value: Any, ids: Mapping[str, str]) -> Any:
    if isinstance(value, dict):
        return {
            name: ids[_NAMED[name]] if name in _NAMED and isinstance(inner, str) else _aimed(inner, ids)
            for name, inner in value.items()
        }
    return [_aimed(item, ids) for item in value] if isinstance(value, list) else value


def findings(case: Case, headers: Mapping[str, str]) -> list[str]:
    """Send a case and return what every check of schemathesis has against the answer."""
    with transaction.atomic():
        try:
            answer = case.call(headers=dict(headers))
            case.validate_response(answer, headers=dict(headers))
        except FailureGroup as group:
            return [_said(case, failure) for failure in group.exceptions]
        except Failure as failure:
            return [_said(case, failure)]
        finally:
            transaction.set_rollback(True)
    return []


def _said(case: Case, failure: Any) -> str:
    return f"{case.operation.label}: {type(failure).__name__}: {str(failure)[:1500]}\n{case.as_curl_command()[:1500]}"
