"""`/programs` and `/program-versions`."""

from typing import Any
from uuid import uuid4

import pytest

from coaching.tenancy.scope import business_scope
from programs.actions.programs import create_program
from programs.models import Program, Version
from tests.coaching.queries import statements_of
from tests.programs.documents import content, published
from tests.scenario import Cast

PATH = "/api/v1/programs"
VERSIONS = "/api/v1/program-versions"


def made(api: Any, name: str = "Ground Work") -> dict[str, Any]:
    answer = api.post(PATH, {"name": name, "notes": "12 weeks", "variants": [{"name": "Three days"}]}, format="json")
    assert answer.status_code == 201, answer.content
    program: dict[str, Any] = answer.json()
    return program


def drafted(api: Any, document: Any = None) -> Any:
    program = made(api)
    return api.post(
        f"{PATH}/{program['id']}/versions",
        {"variant": program["variants"][0]["id"], "content": document or content()},
        format="json",
    )


def test_a_program_is_made_read_and_changed(cast: Cast) -> None:
    api = cast.api(cast.coach)
    program = made(api)
    path = f"{PATH}/{program['id']}"
    assert api.get(path).json() == program
    changed = api.patch(
        path, {"archived": True, "add_variants": [{"name": "Home kit"}]}, format="json", HTTP_IF_MATCH='"v1"'
    )
    assert changed.status_code == 200, changed.content
    assert [variant["name"] for variant in changed.json()["variants"]] == ["Three days", "Home kit"]
    assert (changed.json()["archived"], changed.headers["ETag"]) == (True, '"v2"')
    assert api.patch(path, {"name": "X"}, format="json").status_code == 428
    assert api.patch(path, {"name": "X"}, format="json", HTTP_IF_MATCH='"v1"').status_code == 412


def test_programs_are_listed_newest_first_and_by_their_mark(cast: Cast) -> None:
    api = cast.api(cast.coach)
    first, second = made(api), made(api, "Second")
    api.patch(f"{PATH}/{first['id']}", {"archived": True}, format="json", HTTP_IF_MATCH="*")
    names = [item["name"] for item in api.get(PATH).json()["items"]]
    assert names == ["Second", "Ground Work"]
    assert [item["id"] for item in api.get(f"{PATH}?archived=false").json()["items"]] == [second["id"]]


def test_a_draft_is_begun_changed_published_and_frozen(cast: Cast) -> None:
    api = cast.api(cast.coach)
    draft = drafted(api)
    assert draft.status_code == 201, draft.content
    path = draft.headers["Location"]
    assert path == f"{VERSIONS}/{draft.json()['id']}"
    assert draft.json()["content"]["weeks"][0]["days"][0]["blocks"][0]["slots"][0]["exercise"] == "back-squat"

    changed = api.patch(path, {"content": content(weeks=3)}, format="json", HTTP_IF_MATCH=draft.headers["ETag"])
    assert (changed.status_code, len(changed.json()["content"]["weeks"])) == (200, 3)
    assert changed.json()["content_hash"] != draft.json()["content_hash"]

    frozen = api.post(f"{path}/publish")
    assert (frozen.status_code, frozen.json()["state"]) == (200, "published")
    assert frozen.json()["published_by"] == str(cast.coach.id)

    refused = api.patch(path, {"content": content()}, format="json", HTTP_IF_MATCH="*")
    assert (refused.status_code, refused.json()["code"]) == (409, "frozen_version")
    assert "new draft" in refused.json()["detail"]
    assert api.get(path).json()["content_hash"] == changed.json()["content_hash"]

    gone = api.post(f"{path}/withdraw")
    assert gone.json()["state"] == "withdrawn"


def test_a_second_draft_is_refused_with_what_to_do(cast: Cast) -> None:
    api = cast.api(cast.coach)
    draft = drafted(api).json()
    again = api.post(
        f"{PATH}/{draft['program']}/versions", {"variant": draft["variant"], "content": content()}, format="json"
    )
    assert (again.status_code, again.json()["code"]) == (409, "draft_open")
    assert draft["id"] in again.json()["detail"]


def test_bad_content_is_refused_at_its_place_and_nothing_is_written(cast: Cast) -> None:
    document = content(weeks=1, days=1)
    slot = document["weeks"][0]["days"][0]["blocks"][0]["slots"][0]
    slot["exercise"] = "back-squatt"
    answer = drafted(cast.api(cast.coach), document)
    assert (answer.status_code, answer.json()["errors"][0]["code"]) == (400, "unknown_exercise")
    slot["sets"][1]["tempo"] = "9"
    answer = drafted(cast.api(cast.coach), document)
    (fault,) = answer.json()["errors"]
    assert fault["pointer"] == "#/content/weeks/0/days/0/blocks/0/slots/0/sets/1/tempo"
    with business_scope(cast.business_id):
        assert not Version.objects.exists()


def test_a_draft_with_errors_is_not_published(cast: Cast) -> None:
    api = cast.api(cast.coach)
    draft = drafted(api, {"weeks": []}).json()
    answer = api.post(f"{VERSIONS}/{draft['id']}/publish")
    assert (answer.status_code, answer.json()["code"]) == (409, "not_publishable")
    assert answer.json()["errors"][0]["pointer"] == "#/content/weeks"


def test_a_version_is_analysed_week_by_week(cast: Cast) -> None:
    api = cast.api(cast.coach)
    draft = drafted(api).json()
    analysis = api.get(f"{VERSIONS}/{draft['id']}/analysis").json()
    assert not analysis["has_errors"]
    assert [week["week_number"] for week in analysis["weeks"]] == [1, 2]
    week = analysis["weeks"][0]
    assert (len(week["days"]), week["volume"]["work_sets"]) == (3, 12)
    assert week["days"][0]["session"]["timeline"]["events"] == []


def test_the_versions_of_a_program_are_listed_without_content(cast: Cast) -> None:
    api = cast.api(cast.coach)
    draft = drafted(api).json()
    (item,) = api.get(f"{PATH}/{draft['program']}/versions").json()["items"]
    assert item == {name: value for name, value in draft.items() if name != "content"}


@pytest.mark.parametrize(
    ("method", "tail"),
    [("get", ""), ("patch", ""), ("post", "/publish"), ("post", "/withdraw"), ("get", "/analysis")],
)
def test_a_neighbours_version_is_not_there(cast: Cast, neighbour: Cast, method: str, tail: str) -> None:
    with business_scope(neighbour.business_id):
        theirs = published()
    api = cast.api(cast.owner)
    body = {"content": content()} if method == "patch" else None
    answers = [
        getattr(api, method)(f"{VERSIONS}/{version_id}{tail}", body, format="json", HTTP_IF_MATCH="*").json()
        for version_id in (theirs.id, uuid4())
    ]
    for answer in answers:
        answer.pop("request_id")
    assert answers[0] == answers[1]
    assert answers[0]["status"] == 404


def test_a_neighbours_program_is_not_there(cast: Cast, neighbour: Cast) -> None:
    theirs = made(neighbour.api(neighbour.owner))
    api = cast.api(cast.owner)
    assert api.get(f"{PATH}/{theirs['id']}").status_code == 404
    assert api.get(f"{PATH}/{theirs['id']}/versions").status_code == 404
    assert api.patch(f"{PATH}/{theirs['id']}", {"name": "X"}, format="json", HTTP_IF_MATCH="*").status_code == 404
    body = {"variant": theirs["variants"][0]["id"], "content": content()}
    for program_id in (theirs["id"], made(api)["id"]):
        answer = api.post(f"{PATH}/{program_id}/versions", body, format="json")
        assert (answer.status_code, answer.json()["code"]) == (400, "unknown_object")
    assert made(neighbour.api(neighbour.owner), "Again")["name"] == "Again"


def test_unknown_fields_are_refused_with_the_nearest_name(cast: Cast) -> None:
    answer = cast.api(cast.coach).post(PATH, {"name": "X", "note": "y", "variants": [{"nam": "z"}]}, format="json")
    pointers = {fault["pointer"] for fault in answer.json()["errors"]}
    assert pointers == {"#/note", "#/variants/0/nam", "#/variants/0/name"}
    assert "notes" in answer.json()["errors"][0]["detail"]


def test_viewers_read_and_clients_do_not(cast: Cast) -> None:
    program = made(cast.api(cast.coach))
    viewer = cast.api(cast.viewer)
    assert viewer.get(f"{PATH}/{program['id']}").status_code == 200
    assert viewer.post(PATH, {"name": "X"}, format="json").status_code == 403
    assert cast.api(cast.client_member).get(PATH).status_code == 403


def test_fifty_rows_take_as_many_statements_as_one(cast: Cast) -> None:
    api = cast.api(cast.coach)
    with business_scope(cast.business_id):
        version = published()
        for number in range(49):
            create_program(name=f"Program {number}", variants=["One", "Two"])
        program_id = version.variant.program_id
    for path in (PATH, f"{PATH}/{program_id}/versions"):
        assert statements_of(api, f"{path}?limit=1") == statements_of(api, f"{path}?limit=50"), path
    with business_scope(cast.business_id):
        assert Program.objects.count() == 50


def test_reading_a_long_version_takes_as_many_statements_as_a_short_one(cast: Cast) -> None:
    api = cast.api(cast.coach)
    short, long = (drafted(api, content(weeks=weeks)).json()["id"] for weeks in (1, 50))
    for tail in ("", "/analysis"):
        assert statements_of(api, f"{VERSIONS}/{short}{tail}") == statements_of(api, f"{VERSIONS}/{long}{tail}")
