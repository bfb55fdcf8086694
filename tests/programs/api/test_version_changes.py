"""Versions held against each other, and progression previewed and published."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.tenancy.scope import business_scope
from programs.actions.programs import create_program
from programs.actions.versions import publish_version, write_draft
from programs.models import PlannedSession, Variant, Version
from tests.programs.documents import assign, content, published
from tests.scenario import NOON, Cast

PATH = "/api/v1/program-versions"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def draft(cast: Cast, document: dict[str, Any]) -> str:
    """Write a draft through the API."""
    with business_scope(cast.business_id):
        program = create_program(name="Ground Work", variants=["Three days"])
        variant = Variant.objects.get(program=program)
    answer = cast.api(cast.coach).post(
        f"/api/v1/programs/{program.id}/versions", {"variant": str(variant.id), "content": document}, format="json"
    )
    assert answer.status_code == 201, answer.content
    version_id: str = answer.json()["id"]
    return version_id


def stepped(**rule: Any) -> dict[str, Any]:
    """Week 1 and a rule: 2.5 kg more a week, and every fourth week a deload."""
    return content(weeks=1) | {
        "progression": [{"kind": "load_step", "step_kg": 2.5, **rule}, {"kind": "deload", "every_weeks": 4}]
    }


def preview(cast: Cast, version_id: str, **body: Any) -> Any:
    return cast.api(cast.coach).post(f"{PATH}/{version_id}/preview", body, format="json")


def publish(cast: Cast, version_id: str, **body: Any) -> Any:
    return cast.api(cast.coach).post(f"{PATH}/{version_id}/publish", body, format="json")


def loads(document: dict[str, Any]) -> list[Any]:
    return [week["days"][0]["blocks"][0]["slots"][0]["sets"][1]["load"]["load_kg"] for week in document["weeks"]]


def test_two_versions_are_held_against_each_other_in_words(cast: Cast) -> None:
    with business_scope(cast.business_id):
        first = Version.objects.select_related("variant").get(id=published(content(weeks=3)).id)
        later = content(weeks=3)
        for week in later["weeks"][1:]:
            for one in week["days"]:
                work = one["blocks"][0]["slots"][0]["sets"][1]
                work |= {"count": 5, "tempo": "31X1"}
        second = write_draft(program_id=first.variant.program_id, variant_id=first.variant_id, content=later)
    answer = cast.api(cast.viewer).get(f"{PATH}/{second.id}/diff?against={first.id}")
    assert answer.status_code == 200, answer.content
    assert (answer.json()["number"], answer.json()["against_number"]) == (2, 1)
    change = answer.json()["changes"][0]
    assert change["words"].startswith("Back squat: 4x5 at 20X1")
    assert "→ 5x5 at 31X1" in change["words"]
    assert change["words"].endswith("weeks 2\u20133")
    assert (change["kind"], change["slot_key"], change["weeks"]) == ("changed", "A1", [2, 3])
    same = cast.api(cast.coach).get(f"{PATH}/{first.id}/diff?against={first.id}")
    assert same.json()["changes"] == []


def test_a_strangers_version_is_held_against_nothing(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        own = published()
    with business_scope(neighbour.business_id):
        theirs = published()
    api = cast.api(cast.coach)
    assert api.get(f"{PATH}/{theirs.id}/diff?against={own.id}").status_code == 404
    for query in (f"?against={theirs.id}", f"?against={uuid4()}", "", "?against=one", f"?against={own.id}&with=1"):
        answer = api.get(f"{PATH}/{own.id}/diff{query}")
        assert answer.status_code == 400, query
    assert cast.api(cast.client_member).get(f"{PATH}/{own.id}/diff?against={own.id}").status_code == 403


def test_a_preview_shows_the_weeks_and_stores_nothing(cast: Cast) -> None:
    version_id = draft(cast, stepped())
    answer = preview(cast, version_id, weeks=5)
    assert answer.status_code == 200, answer.content
    shown = answer.json()
    assert loads(shown["content"]) == ["80", "82.5", "85.0", "75.0", "87.5"]
    assert [week["deload"] for week in shown["weeks"]] == [False, False, False, True, False]
    assert [week["compared_with"] for week in shown["weeks"]] == [None, 1, 2, 3, 3]
    assert "80 kg" in shown["weeks"][1]["changes"][0]["words"]
    stored = cast.api(cast.coach).get(f"{PATH}/{version_id}").json()
    assert (len(stored["content"]["weeks"]), stored["state"]) == (1, "draft")


def test_planned_jumps_are_told(cast: Cast) -> None:
    findings = preview(cast, draft(cast, stepped(step_kg=10)), weeks=2).json()["findings"]
    assert {finding["code"] for finding in findings} == {"planned_load_jump"}


def test_publishing_stores_the_weeks_with_the_rules_beside_them(cast: Cast) -> None:
    version_id = draft(cast, stepped())
    answer = publish(cast, version_id, weeks=4)
    assert answer.status_code == 200, answer.content
    frozen = answer.json()
    assert loads(frozen["content"]) == ["80", "82.5", "85.0", "75.0"]
    assert [week["deload"] for week in frozen["content"]["weeks"]] == [False, False, False, True]
    assert [rule["kind"] for rule in frozen["content"]["progression"]] == ["load_step", "deload"]
    with business_scope(cast.business_id):
        version = Version.objects.get(id=version_id)
        assign(cast.coach, version, cast.anna.id)
        rows = PlannedSession.objects.filter(client=cast.anna).order_by("week_number", "day_number")
        assert [row.deload for row in rows] == [False] * 9 + [True] * 3


def test_a_progression_without_a_number_of_weeks_is_not_published(cast: Cast) -> None:
    version_id = draft(cast, stepped())
    answer = publish(cast, version_id)
    assert (answer.status_code, answer.json()["code"]) == (409, "not_publishable")
    assert answer.json()["errors"][0]["pointer"] == "#/weeks"
    assert publish(cast, version_id, weeks=2).status_code == 200


def test_a_rule_that_cannot_be_followed_is_told_at_its_place(cast: Cast) -> None:
    version_id = draft(cast, stepped(slot_keys=["Z9"]))
    shown = preview(cast, version_id, weeks=3)
    assert (shown.status_code, shown.json()["code"]) == (400, "invalid_progression")
    assert shown.json()["errors"][0]["pointer"] == "#/content/progression/0/slot_keys/0"
    refused = publish(cast, version_id, weeks=3)
    assert (refused.status_code, refused.json()["code"]) == (409, "not_publishable")
    assert refused.json()["errors"][0]["pointer"] == "#/content/progression/0/slot_keys/0"


def test_a_version_without_rules_is_published_as_it_is_written(cast: Cast) -> None:
    frozen = publish(cast, draft(cast, content(weeks=3))).json()["content"]
    assert len(frozen["weeks"]) == 3
    assert "progression" not in frozen


@pytest.mark.parametrize("body", [{"weeks": 0}, {"weeks": 53}, {"weeks": "four"}, {"week": 4}])
def test_a_bad_number_of_weeks_is_refused(cast: Cast, body: dict[str, Any]) -> None:
    version_id = draft(cast, stepped())
    for answer in (preview(cast, version_id, **body), publish(cast, version_id, **body)):
        assert answer.status_code == 400


def test_only_the_team_previews_and_a_neighbour_finds_nothing(cast: Cast, neighbour: Cast) -> None:
    version_id = draft(cast, stepped())
    assert cast.api(cast.viewer).post(f"{PATH}/{version_id}/preview", {"weeks": 2}, format="json").status_code == 200
    assert cast.api(cast.client_member).post(f"{PATH}/{version_id}/preview", {}, format="json").status_code == 403
    answer = neighbour.api(neighbour.owner).post(f"{PATH}/{version_id}/preview", {"weeks": 2}, format="json")
    assert answer.status_code == 404


def test_a_published_version_previews_as_it_stands(cast: Cast) -> None:
    with business_scope(cast.business_id):
        program = create_program(name="Plain", variants=["One"])
        variant = Variant.objects.get(program=program)
        made = write_draft(program_id=program.id, variant_id=variant.id, content=stepped())
        publish_version(actor_membership_id=None, version_id=made.id, now=NOON, weeks=4)
    assert loads(preview(cast, str(made.id)).json()["content"]) == ["80", "82.5", "85.0", "75.0"]
