"""The business and its policy."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest

from coaching import registry
from coaching.models import Business
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast

PATH = "/api/v1/business"


@pytest.fixture
def policy_changes() -> Iterator[list[frozenset[str]]]:
    """What the apps are told of changes."""
    told: list[frozenset[str]] = []

    def follow(changed: frozenset[str], _now: datetime) -> None:
        told.append(changed)

    registry.on_business_policy_changed.append(follow)
    yield told
    registry.on_business_policy_changed.remove(follow)


def _change(cast: Cast, changes: dict[str, Any], if_match: str = "*") -> Any:
    return cast.api(cast.owner).patch(PATH, changes, format="json", HTTP_IF_MATCH=if_match)


def test_the_business_is_read_with_its_policy(cast: Cast) -> None:
    answer = cast.api(cast.viewer).get(PATH)
    found = answer.json()
    assert answer.headers["ETag"] == '"v1"'
    assert (found["name"], found["time_zone"], found["unit"]) == ("Northern Iron", "Europe/Paris", "kg")
    assert (found["grace_h"], found["digest_at"], found["part_done_below_ratio"]) == (6, "07:00:00", 0.75)


def test_an_owner_changes_the_policy_and_the_apps_are_told_what_changed(
    cast: Cast, policy_changes: list[frozenset[str]]
) -> None:
    changes = {"grace_h": 8, "digest_at": "06:30", "unit": "kg", "part_done_below_ratio": 0.8}
    answer = _change(cast, changes, '"v1"')
    assert (answer.status_code, answer.headers["ETag"]) == (200, '"v2"')
    assert (answer.json()["grace_h"], answer.json()["digest_at"]) == (8, "06:30:00")
    assert policy_changes == [frozenset({"grace_h", "digest_at", "part_done_below_ratio"})]
    assert _change(cast, changes).status_code == 200
    assert len(policy_changes) == 1


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"time_zone": "Europe/Pariss"}, "#/time_zone"),
        ({"week_start": 7}, "#/week_start"),
        ({"grace_h": -1}, "#/grace_h"),
        ({"digest_at": "25:00"}, "#/digest_at"),
        ({"part_done_below_ratio": 1.2}, "#/part_done_below_ratio"),
        ({"state": "closed"}, "#/state"),
        ({"id": "00000000-0000-0000-0000-000000000000"}, "#/id"),
        ({"row_version": 9}, "#/row_version"),
        ({"name": ""}, "#/name"),
    ],
)
def test_what_cannot_be_taken_is_refused_and_changes_nothing(cast: Cast, changes: dict[str, Any], pointer: str) -> None:
    before = cast.api(cast.owner).get(PATH).json()
    answer = _change(cast, {"unit": "lb", **changes})
    assert answer.status_code == 400
    assert [fault["pointer"] for fault in answer.json()["errors"]] == [pointer]
    assert cast.api(cast.owner).get(PATH).json() == before


def test_only_an_owner_changes_it(cast: Cast) -> None:
    for member in (cast.head, cast.coach, cast.viewer, cast.client_member):
        answer = cast.api(member).patch(PATH, {"unit": "lb"}, format="json", HTTP_IF_MATCH="*")
        assert answer.status_code == 403


def test_a_change_reaches_one_business_only(cast: Cast, neighbour: Cast) -> None:
    _change(cast, {"unit": "lb"})
    with business_scope(neighbour.business_id):
        assert Business.objects.get().unit == "kg"
