"""`/clients/{id}/lifts`, one lift, and `/lifts` across clients."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine

from coaching.models import Absence, Client
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import store_client_weeks
from tests.coaching.queries import statements_of
from tests.logs import histories
from tests.logs.histories import MONDAY as THIS_WEEK
from tests.logs.lifting import RISING, WEEK, lifted, path, read, weighed
from tests.scenario import NOON, Cast


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def test_each_line_has_its_latest_value_trend_and_matched_comparison(cast: Cast):
    lifted(cast, cast.anna, [*RISING, RISING[-1]])
    body = read(cast.api(cast.coach), path(cast.anna))
    (line,) = body["lines"]
    assert (line["line"], line["note"]) == ("back-squat/both/standard", "")
    # 116.5 kg, seven to failure: 116.5 (1 + 7/30).
    assert line["latest"]["value_kg"] == pytest.approx(143.683333)
    assert (line["trend"]["verdict"], line["trend"]["n"]) == ("improving", 13)
    assert line["trend"]["low_pct_per_week"] > 0
    assert line["matched"]["sentence"] == (
        "116.5 kg: 5 repetitions at 2 in reserve, against 5 at 2 in reserve the last time: the same."
    )
    assert "plateau" in body["methods"]["verdict"]
    assert "originals not seen" in body["sources"]["formulas"]


def test_deload_ill_and_absent_weeks_stay_out_and_are_named(cast: Cast):
    lifted(cast, cast.anna, RISING)
    deload, ill, away = (THIS_WEEK - back * WEEK for back in (8, 5, 3))
    with business_scope(cast.business_id):
        histories.planned(histories.assignment(cast.anna), deload, deload=True)
        store_client_weeks(weeks=[(cast.anna.id, deload)])
        Absence.objects.create(client=cast.anna, starts_on=ill, ends_on=ill + timedelta(days=2), kind="ill")
        Absence.objects.create(client=cast.anna, starts_on=away - WEEK, ends_on=away, kind="holiday")
    body = read(cast.api(cast.coach), path(cast.anna, "/back-squat"))
    assert body["left_out"] == [
        {"week_start": deload.isoformat(), "reason": "deload"},
        {"week_start": ill.isoformat(), "reason": "ill"},
        {"week_start": (away - WEEK).isoformat(), "reason": "away"},
        {"week_start": away.isoformat(), "reason": "away"},
    ]
    (line,) = body["lines"]
    assert line["trend"]["n"] == 8
    assert [point["left_out"] for point in line["points"] if point["left_out"]] == ["deload", "ill", "away", "away"]


def test_another_formula_is_used_for_every_figure(cast: Cast):
    lifted(cast, cast.anna, [100, 100])
    (line,) = read(cast.api(cast.coach), path(cast.anna, "/back-squat?formula=brzycki"))["lines"]
    # 100 kg, seven to failure: 36 / 30.
    assert [point["value_kg"] for point in line["points"]] == [120, 120]
    assert {(one["formula"], one["estimate_kg"]) for one in line["estimates"]} == {("brzycki", 120)}
    (epley,) = read(cast.api(cast.coach), path(cast.anna, "/back-squat"))["lines"]
    assert epley["points"][0]["value_kg"] == pytest.approx(123.333333)


def test_the_stored_values_and_those_from_the_sets_are_one(cast: Cast):
    lifted(cast, cast.anna, [100, 102, 104, 103], reps=4, in_reserve=Decimal("1.5"))
    (line,) = read(cast.api(cast.coach), path(cast.anna, "/back-squat"))["lines"]
    assert [point["value_kg"] for point in line["points"]] == [one["estimate_kg"] for one in line["estimates"]]


def test_a_lift_is_named_by_key_or_id_and_has_records(cast: Cast):
    lifted(cast, cast.anna, [100, 105, 102])
    api = cast.api(cast.coach)
    with business_scope(cast.business_id):
        lift = histories.exercise("back-squat")
    body = read(api, path(cast.anna, "/back-squat"))
    assert read(api, path(cast.anna, f"/{lift.id}")) == body
    best = body["lines"][0]["records"][0]
    assert (best["kind"], best["achieved"]["load_kg"], best["exceeds_noise"]) == ("best_estimate", 105, False)
    assert best["mdc95_pct"] == pytest.approx(11.64, abs=0.005)
    assert [one["mdc95_pct"] for one in body["detectable_changes"]] == [
        pytest.approx(value, abs=0.005) for value in (11.64, 5.82, 4.12)
    ]


def test_a_lift_never_done_has_no_lines_and_one_that_is_none_is_not_found(cast: Cast):
    api = cast.api(cast.coach)
    assert read(api, path(cast.anna, "/front-squat"))["lines"] == []
    assert api.get(path(cast.anna, "/flying")).status_code == 404


def test_left_and_right_are_lines_of_their_own_with_their_difference(cast: Cast):
    for side, loads in (("left", [42, 41, 43, 42]), ("right", [40, 40, 41, 39])):
        lifted(cast, cast.anna, loads, key="split-squat", side=side)
    with business_scope(cast.business_id):
        store_client_weeks(weeks=[(cast.anna.id, THIS_WEEK - back * WEEK) for back in range(1, 5)])
    body = read(cast.api(cast.coach), path(cast.anna, "/split-squat"))
    assert [line["side"] for line in body["lines"]] == ["left", "right"]
    (difference,) = body["sides"]
    assert (difference["n"], difference["exceeds_noise"]) == (4, False)
    assert "within noise" in difference["sentence"]
    assert "means nothing" in difference["caution"]


def test_percents_of_an_added_load_count_the_body_in(cast: Cast):
    weighed(cast)
    (line,) = read(cast.api(cast.coach), path(cast.anna, "/pull-up"))["lines"]
    assert line["trend"]["verdict"] == "improving"
    median_kg = sorted(point["value_kg"] for point in line["points"])[3:5]
    assert line["trend"]["level_kg"] == pytest.approx(sum(median_kg) / 2 + 76)
    assert line["matched"]["sentence"].startswith("bodyweight + 16 kg: 5 repetitions")
    assert line["estimates"][0]["body_kg"] == 76


def test_care_hides_bodyweights_and_what_would_give_them_away(cast: Cast):
    weighed(cast)
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(care_groups=["eating_disorder_history"])
    body = read(cast.api(cast.coach), path(cast.anna, "/pull-up"))
    (line,) = body["lines"]
    assert body["weight_hidden"]
    assert line["trend"]["verdict"] == "improving"
    assert (line["trend"]["level_kg"], line["trend"]["pct_per_week"]) == (None, None)
    assert {one["body_kg"] for one in line["estimates"]} == {None}
    assert line["records"][0]["mdc95_kg"] is None


def test_records_are_of_the_whole_history_and_all_else_of_the_weeks_asked_for(cast: Cast):
    lifted(cast, cast.anna, [150, *[100] * 40, 105])
    body = read(cast.api(cast.coach), path(cast.anna, "/back-squat?weeks=12"))
    (line,) = body["lines"]
    assert len(line["points"]) == len(line["estimates"]) == 11
    best, heaviest, _most = line["records"][:3]
    assert (best["achieved"]["load_kg"], heaviest["achieved"]["load_kg"]) == (150, 150)
    other = read(cast.api(cast.coach), path(cast.anna, "/back-squat?weeks=12&formula=brzycki"))["lines"][0]
    assert (len(other["points"]), other["records"][0]["achieved"]["load_kg"]) == (11, 150)


def test_sessions_that_give_no_value_say_why(cast: Cast):
    added = {"load_basis": "added", "loading": "bodyweight", "bodyweight_share": Decimal("0.95")}
    lifted(cast, cast.anna, [0, 0, 0], key="pull-up", load_basis="added", exercise=added)
    lifted(cast, cast.anna, [40, 40], key="bench-press", reps=10)
    for tail in ("", "/pull-up"):
        line = read(cast.api(cast.coach), path(cast.anna, tail))["lines"][-1]
        assert line["without_value"] == {
            "sessions": 3,
            "of_sessions": 3,
            "reasons": [{"reason": "no_bodyweight", "sessions": 3}],
            "sentence": (
                "3 of 3 sessions gave no value: no weigh-in on the day or in the 28 days before (3). Log a bodyweight."
            ),
        }
    bench = read(cast.api(cast.coach), path(cast.anna))["lines"][0]["without_value"]
    assert bench["sentence"] == "2 of 2 sessions gave no value: over 10 repetitions to failure (2)."
    lifted(cast, cast.ben, [100])
    assert read(cast.api(cast.coach), path(cast.ben))["lines"][0]["without_value"] is None


def test_a_lift_with_a_nul_in_its_name_is_none(cast: Cast):
    assert cast.api(cast.coach).get(path(cast.anna, "/%00")).status_code == 404


def test_slow_tempos_are_a_line_with_a_note(cast: Cast):
    lifted(cast, cast.anna, [80, 80], tempo_class="slow")
    (line,) = read(cast.api(cast.coach), path(cast.anna))["lines"]
    assert line["note"] == "an estimate at this tempo, for comparison only"
    assert line["matched"]["sentence"].startswith("80 kg at a slow tempo: 5 repetitions")


def test_what_is_negligible_is_the_businesss_to_say(cast: Cast):
    wobbling = [100, Decimal("100.3"), Decimal("99.8"), 100, Decimal("100.2"), 100, Decimal("99.9"), Decimal("100.1")]
    lifted(cast, cast.anna, wobbling)
    api, owner = cast.api(cast.coach), cast.api(cast.owner)
    assert read(api, path(cast.anna))["lines"][0]["trend"]["verdict"] == "plateau"
    etag = owner.get("/api/v1/business").headers["ETag"]
    changed = owner.patch(
        "/api/v1/business", {"negligible_pct_per_week": 0.05}, format="json", headers={"If-Match": etag}
    )
    assert changed.status_code == 200, changed.content
    trend = read(api, path(cast.anna))["lines"][0]["trend"]
    assert (trend["verdict"], trend["negligible_pct_per_week"]) == ("undecided", 0.05)


@pytest.mark.parametrize("query", ["?weeks=0", "?weeks=105", "?formula=guess", "?formula=epley,brzycki"])
def test_a_query_out_of_reach_is_refused(cast: Cast, query: str):
    for tail in ("", "/back-squat"):
        assert cast.api(cast.coach).get(path(cast.anna, tail + query)).status_code == 400


def test_a_client_whom_one_may_not_see_is_like_none(cast: Cast, neighbour: Cast):
    lifted(cast, cast.anna, [100])
    for tail in ("", "/back-squat"):
        none = f"/api/v1/clients/{uuid4()}/lifts{tail}"
        for api in (
            cast.api(cast.other_coach),
            cast.key("progress:read", clients=[cast.ben.id]),
            neighbour.api(neighbour.owner),
        ):
            answers = [api.get(one) for one in (path(cast.anna, tail), none)]
            assert [answer.status_code for answer in answers] == [404, 404]
            assert answers[0].json()["detail"] == answers[1].json()["detail"]
    assert len(read(cast.api(cast.client_member), path(cast.anna))["lines"]) == 1
    assert cast.key("logs:read").get(path(cast.anna)).status_code == 403


def test_many_lines_and_weeks_take_as_many_statements_as_one(cast: Cast):
    lifted(cast, cast.anna, [100])
    api = cast.api(cast.coach)
    addresses = (path(cast.anna), path(cast.anna, "/back-squat"), "/api/v1/lifts")
    one = [statements_of(api, address) for address in addresses]
    for key in ("back-squat", "bench-press", "deadlift", "pull-up"):
        for client in (cast.anna, cast.ben):
            lifted(cast, client, RISING, key=key)
    assert [statements_of(api, address) for address in addresses] == one
