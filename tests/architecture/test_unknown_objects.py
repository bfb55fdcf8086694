"""Ids of nothing, of a neighbour and of another coach cost the same statements: the time of a 404 tells nothing."""

import re
from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from tests.architecture.calls import CALLS, Call, Ids
from tests.architecture.world import CLIENTS_OWN, build_world
from tests.scenario import Cast

_UUID = re.compile(r"[0-9a-f]{8}-?([0-9a-f]{4}-?){3}[0-9a-f]{12}")
_SAVEPOINT = re.compile(r'SAVEPOINT "\w+"')
_LISTED = re.compile(r"IN \(([^()]*)\)")


def _statements(api: Any, call: Call, ids: Ids) -> list[str]:
    """Return the statements of a call, but for the ids in them, the order of lists, and the names of savepoints."""
    with transaction.atomic():
        with CaptureQueriesContext(connection) as captured:
            answer = call.send(api, ids)
        transaction.set_rollback(True)
    assert answer.status_code < 500, (call, answer.content)
    return [_shape(query["sql"]) for query in captured]


def _shape(sql: str) -> str:
    plain = _SAVEPOINT.sub("SAVEPOINT", _UUID.sub("uuid", sql))
    return _LISTED.sub(lambda match: f"IN ({', '.join(sorted(match[1].split(', ')))})", plain)


def _nothing(ids: Ids) -> dict[str, str]:
    return {name: str(uuid4()) for name in ids}


def _differences(api: Any, ids: Ids, *others: Mapping[str, str]) -> dict[str, Any]:
    """Return the calls that run other statements with one of the others' ids than with ids of nothing."""
    found = {}
    for call in CALLS:
        unreal = {**ids, **{name: str(uuid4()) for name in others[0]}}
        if not call.differs(ids, unreal):
            continue
        wanted = _statements(api, call, unreal)
        for other in others:
            seen = _statements(api, call, {**ids, **other})
            if seen != wanted:
                found[str(call)] = _first_difference(seen, wanted)
    return found


def _first_difference(seen: list[str], wanted: list[str]) -> Any:
    pairs = [(one, other) for one, other in zip(seen, wanted, strict=False) if one != other]
    return len(seen), len(wanted), pairs[:1] or (seen[len(wanted) :] + wanted[len(seen) :])[:1]


def test_an_id_of_another_coach_or_of_a_neighbour_runs_the_statements_of_an_id_of_nothing(
    cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    theirs = build_world(neighbour)
    coach = cast.api(cast.other_coach)
    coach.get("/api/v1/me")
    mine = {name: world[name] for name in CLIENTS_OWN}
    foreign = {name: theirs[name] for name in CLIENTS_OWN}
    assert _differences(coach, world, mine, foreign) == {}


def test_each_single_id_of_a_neighbour_runs_the_statements_of_an_id_of_nothing(
    cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    """One at a time among the coach's own, so that none hides behind another that is looked up first."""
    theirs = build_world(neighbour)
    coach = cast.api(cast.coach)
    coach.get("/api/v1/me")
    names = sorted(set(world) - {"exercise"})
    assert {name: found for name in names if (found := _differences(coach, world, {name: theirs[name]}))} == {}


def test_the_control_a_real_id_runs_other_statements(cast: Cast, world: dict[str, str]) -> None:
    api = cast.api(cast.coach)
    api.get("/api/v1/me")
    call = next(call for call in CALLS if call.operation == "planned_sessions.read")
    assert _statements(api, call, world) != _statements(api, call, _nothing(world))
