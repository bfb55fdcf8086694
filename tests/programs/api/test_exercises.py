"""`/exercises`."""

from uuid import uuid4

import pytest

from coaching.tenancy.scope import business_scope
from programs.models import Exercise
from tests.coaching.queries import statements_of
from tests.scenario import Cast

PATH = "/api/v1/exercises"


def test_the_catalogue_is_walked_page_by_page_without_loss(cast: Cast) -> None:
    api, seen, path = cast.api(cast.coach), [], f"{PATH}?limit=60"
    while path:
        answer = api.get(path).json()
        seen += [item["key"] for item in answer["items"]]
        path = answer["next"]
    with business_scope(cast.business_id):
        assert sorted(seen) == sorted(Exercise.objects.values_list("key", flat=True))


def test_filters_and_search_narrow_the_list(cast: Cast) -> None:
    items = cast.api(cast.client_member).get(f"{PATH}?pattern=squat&search=back+squat").json()["items"]
    assert "back-squat" in [item["key"] for item in items]
    assert {item["pattern"] for item in items} == {"squat"}


@pytest.mark.parametrize(
    ("query", "pointer"), [("?pattern=sqaut", "?pattern"), ("?muscel=glutes", "?muscel"), ("?limit=0", "?limit")]
)
def test_a_bad_query_is_refused_at_its_place(cast: Cast, query: str, pointer: str) -> None:
    answer = cast.api(cast.coach).get(PATH + query)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)


def test_an_exercise_answers_by_key_and_by_id(cast: Cast) -> None:
    api = cast.key("logs:write")
    by_key = api.get(f"{PATH}/back-squat")
    assert by_key.json()["starts_at"] == "shortened"
    assert by_key.headers["ETag"] == '"v1"'
    assert api.get(f"{PATH}/{by_key.json()['id']}/").json() == by_key.json()


def test_a_neighbours_exercise_is_not_there(cast: Cast, neighbour: Cast) -> None:
    theirs = neighbour.api(neighbour.owner).get(f"{PATH}/back-squat").json()["id"]
    for reference in (theirs, uuid4(), "no-such-lift"):
        assert cast.api(cast.owner).get(f"{PATH}/{reference}").status_code == 404


def test_fifty_rows_take_as_many_statements_as_one(cast: Cast) -> None:
    api = cast.api(cast.coach)
    assert statements_of(api, f"{PATH}?limit=1") == statements_of(api, f"{PATH}?limit=50")
