"""`/timeline-policy`: a business's own figures of time, and where they are used."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from coaching.tenancy.scope import business_scope
from programs.models import BusinessTimeline
from tests.programs.documents import assign, content, day, published, sessions
from tests.scenario import NOON, Cast

PATH = "/api/v1/timeline-policy"

# Two blocks of one set, nothing to ramp up to: 120 s between them, or what the business has.
SESSION = {
    "title": "Two",
    "blocks": [
        {
            "kind": "straight",
            "label": label,
            "slots": [
                {"slot_key": f"{label}1", "exercise": exercise, "sets": [{"count": 2, "kind": "work", "reps_low": 10}]}
            ],
        }
        for label, exercise in (("A", "push-up"), ("B", "pull-up"))
    ],
}


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def change(api: Any, version: str = "*", **figures: Any) -> Any:
    return api.patch(PATH, figures, format="json", HTTP_IF_MATCH=version)


def figure(api: Any, name: str) -> dict[str, Any]:
    (found,) = [one for one in api.get(PATH).json()["figures"] if one["name"] == name]
    return found


def analysed_s(api: Any, place: str = "gym") -> int:
    answer = api.post("/api/v1/prescriptions/analyse", {"session": SESSION, "place": place}, format="json")
    assert answer.status_code == 200, answer.content
    return answer.json()["timeline"]["high_s"]


def test_every_figure_is_shown_with_its_unit_default_and_bounds(cast: Cast) -> None:
    answer = cast.api(cast.viewer).get(PATH)
    assert (answer.status_code, answer["ETag"]) == (200, '"v1"')
    found = answer.json()["figures"]
    assert not any(one["own"] for one in found)
    assert found[0] == {
        "name": "change_station_gym_s",
        "value": 30,
        "default": 30,
        "own": False,
        "unit": "s",
        "least": 0,
        "most": 600,
        "meaning": "Least time to change station in a gym.",
        "source": "practice",
    }
    with business_scope(cast.business_id):
        assert not BusinessTimeline.objects.exists()


def test_a_changed_figure_is_the_businesss_own_until_null_takes_it_back(cast: Cast) -> None:
    api = cast.api(cast.head)
    made = change(api, '"v1"', between_blocks_s=300, machine_s_per_m="0.5")
    assert (made.status_code, made["ETag"]) == (200, '"v2"')
    assert {one["name"]: one["value"] for one in made.json()["figures"] if one["own"]} == {
        "between_blocks_s": 300,
        "machine_s_per_m": 0.5,
    }
    back = change(api, made["ETag"], between_blocks_s=None)
    assert (back.status_code, back["ETag"]) == (200, '"v3"')
    assert (figure(api, "between_blocks_s")["own"], figure(api, "machine_s_per_m")["own"]) == (False, True)


def test_a_version_that_is_gone_changes_nothing(cast: Cast) -> None:
    api = cast.api(cast.owner)
    assert change(api, '"v2"', ramp_sets=1).status_code == 412
    assert change(api, '"v1"', ramp_sets=1).status_code == 200
    assert change(api, '"v1"', ramp_sets=2).status_code == 412
    assert api.patch(PATH, {"ramp_sets": 2}, format="json").status_code == 428
    assert figure(api, "ramp_sets")["value"] == 1


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"ramp_sets": 11}, "#/ramp_sets"),
        ({"ramp_sets": 1.5}, "#/ramp_sets"),
        ({"rest_size_s": -1}, "#/rest_size_s"),
        ({"s_per_kcal": 0}, "#/s_per_kcal"),
        ({"to_limit_reps_high": 3}, "#/to_limit_reps_high"),
        ({"explosive_s": 2}, "#/explosive_s"),
    ],
)
def test_a_figure_out_of_bounds_is_refused_at_its_place(cast: Cast, body: dict[str, Any], pointer: str) -> None:
    answer = change(cast.api(cast.owner), **body)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)
    with business_scope(cast.business_id):
        assert not BusinessTimeline.objects.exists()


def test_owner_and_head_coach_change_it_and_staff_read_it(cast: Cast, neighbour: Cast) -> None:
    assert change(cast.api(cast.owner), ramp_sets=1).status_code == 200
    assert change(cast.api(cast.coach), ramp_sets=1).status_code == 403
    assert cast.api(cast.coach).get(PATH).status_code == 200
    assert cast.api(cast.client_member).get(PATH).status_code == 403
    assert figure(neighbour.api(neighbour.owner), "ramp_sets")["value"] == 3


def test_an_analysis_goes_by_the_businesss_own_time(cast: Cast) -> None:
    api = cast.api(cast.owner)
    before_s = analysed_s(api)
    change(api, between_blocks_s=300)
    assert analysed_s(api) == before_s + 180


def test_pairings_go_by_the_businesss_own_time(cast: Cast) -> None:
    api = cast.api(cast.owner)
    exercises = [
        {"exercise": name, "goal": "size", "rest_s": 60, "sets": [{"count": 3, "kind": "work", "reps_low": 10}]}
        for name in ("push-up", "bent-over-row")
    ]

    def quickest(place: str) -> float:
        answer = api.post("/api/v1/prescriptions/pairings", {"exercises": exercises, "place": place}, format="json")
        assert answer.status_code == 200, answer.content
        return min(one["timeline"]["high_s"] for one in answer.json()["pairings"])

    before = quickest("gym"), quickest("home")
    change(api, change_station_gym_s=500)
    assert quickest("gym") > before[0]
    assert quickest("home") == before[1]


def test_a_versions_analysis_and_what_is_planned_from_it_go_by_the_businesss_own_time(cast: Cast) -> None:
    api = cast.api(cast.owner)
    two = {"weeks": [{"week_number": 1, "days": [day(1, *_slots("A1", "B1"))]}]}
    with business_scope(cast.business_id):
        version = published(two)
        assign(cast.coach, version, cast.anna.id, weekdays=(0,))
    change(api, between_blocks_s=420)
    with business_scope(cast.business_id):
        assign(cast.coach, version, cast.ben.id, weekdays=(0,))
        (hers,), (his,) = sessions(cast.anna.id), sessions(cast.ben.id)
    # What was planned before keeps its minutes; five more between the blocks are in what is planned since.
    assert his.planned_high_min - hers.planned_high_min == 5
    analysis = api.get(f"/api/v1/program-versions/{version.id}/analysis").json()
    assert analysis["weeks"][0]["high_min"] == float(his.planned_high_min)
    assert api.get(f"/api/v1/planned-sessions/{his.id}/card").json()["timeline"]["high_min"] == float(
        his.planned_high_min
    )
    # Written out anew for another reason, hers follows.
    changed = api.patch(
        f"/api/v1/planned-sessions/{hers.id}",
        {"prescribed": [{"slot_key": "A1", "notes": "Easy."}]},
        format="json",
        HTTP_IF_MATCH="*",
    )
    assert changed.json()["planned_high_min"] == float(his.planned_high_min)


def test_assumed_rests_of_a_card_are_the_businesss_own(cast: Cast) -> None:
    change(cast.api(cast.owner), rest_strength_s=240)
    slot = {name: value for name, value in _slots("A1")[0].items() if name != "rest_s"}
    with business_scope(cast.business_id):
        assign(
            cast.coach, published({"weeks": [{"week_number": 1, "days": [day(1, slot)]}]}), cast.anna.id, weekdays=(0,)
        )
        (planned,) = sessions(cast.anna.id)
    card = cast.api(cast.client_member).get(f"/api/v1/planned-sessions/{planned.id}/card").json()
    assert card["blocks"][0]["exercises"][0]["rest"] == "rest 4 min or so between sets"


def _slots(*keys: str) -> list[dict[str, Any]]:
    (block,) = content(weeks=1, days=1)["weeks"][0]["days"][0]["blocks"]
    return [{**block["slots"][0], "slot_key": key} for key in keys]
