"""Load advice: what was logged decides what the next session's loads are, with a sentence, until a coach accepts."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.models import Client, Place
from coaching.tenancy.scope import business_scope
from programs.actions.versions import publish_version, write_draft
from programs.models import PlannedSession
from tests.programs.documents import MONDAY, assign, published
from tests.scenario import NOON, Cast

WEEKS = 8
Clock = Any
"""What `time_machine.travel` gives."""


@pytest.fixture(autouse=True)
def clock() -> Iterator[Clock]:
    with time_machine.travel(NOON, tick=False) as clock:
        yield clock


def slot(**fields: Any) -> dict[str, Any]:
    """Three sets of 6 to 8 squats at RPE 8 with 80 kg, after one warm-up."""
    work = {"count": 3, "kind": "work", "reps_low": 6, "reps_high": 8, "tempo": "20X1", "rpe": 8}
    work |= {"load": {"kind": "absolute", "load_kg": "80"}}
    work |= {name: fields.pop(name) for name in list(fields) if name not in {"exercise", "slot_key"}}
    return {
        "slot_key": "A1",
        "exercise": "back-squat",
        "goal": "strength",
        "rest_s": 180,
        "sets": [
            {"count": 1, "kind": "warm_up", "reps_low": 5},
            {name: value for name, value in work.items() if value is not None},
        ],
    } | fields


def document(*slots: dict[str, Any], weeks: int = WEEKS, deload: tuple[int, ...] = ()) -> dict[str, Any]:
    blocks = [{"kind": "straight", "label": one["slot_key"][0], "slots": [one]} for one in slots or (slot(),)]
    return {
        "weeks": [
            {
                "week_number": week,
                "deload": week in deload,
                "days": [{"day_number": 1, "template_key": "day-1", "title": "Day 1", "blocks": blocks}],
            }
            for week in range(1, weeks + 1)
        ]
    }


class Story:
    """One client with a program, who trains and is advised."""

    def __init__(self, cast: Cast, clock: Clock, made: dict[str, Any], client: Any = None) -> None:
        self.cast, self.clock = cast, clock
        self.client = client or cast.anna
        with business_scope(cast.business_id):
            (result,) = assign(cast.coach, published(made), self.client.id, weekdays=(0,))
            self.assignment = str(result.assignment_id)
        self.number = 0

    def on(self, day: date) -> None:
        self.clock.move_to(datetime(day.year, day.month, day.day, 12, tzinfo=UTC))
        # Nobody stays signed in for weeks.
        self.cast.tokens.clear()

    def miss(self, *weeks: int) -> None:
        with business_scope(self.cast.business_id):
            PlannedSession.objects.filter(assignment_id=self.assignment, week_number__in=weeks).update(state="missed")

    def train(self, day: date, *reps: int, load: Any = 80, rpe: Any = 8, **fields: Any) -> None:
        """Log a session with its work sets, and let the workers run."""
        self.on(day)
        self.number += 1
        name = f"s{self.number}"
        sets = [
            {
                "external_id": f"{name}-{place}",
                "client": str(self.client.id),
                "session_external_id": name,
                "exercise": fields.get("exercise", "back-squat"),
                "slot": fields.get("slot", "A1"),
                "set_number": place + 1,
                "reps": count,
                **({} if load is None else {fields.get("unit", "load_kg"): load}),
                **({} if rpe is None else {"rpe": rpe}),
            }
            for place, count in enumerate(reps, start=1)
        ]
        logged = {"external_id": name, "client": str(self.client.id), "local_date": str(day), "duration_min": 40}
        answer = self.cast.key("logs:write").post(
            "/api/v1/log-batches", {"session_logs": [logged], "set_logs": sets}, format="json"
        )
        assert answer.json()["summary"]["refused"] == 0, answer.content
        self.work()

    def check_in(self, day: date, **fields: Any) -> None:
        self.on(day)
        one = {"external_id": f"c{day}", "client": str(self.client.id), "local_date": str(day), **fields}
        answer = self.cast.key("logs:write").post("/api/v1/log-batches", {"check_ins": [one]}, format="json")
        assert answer.json()["summary"]["refused"] == 0, answer.content
        self.work()

    def work(self) -> None:
        run_due_jobs(jobs=registry.dispatch_jobs, now=self.present(), seconds=10)

    @staticmethod
    def present() -> datetime:
        return timezone.now()

    def next(self, member: Any = None) -> dict[str, Any]:
        answer = self.cast.api(member or self.cast.coach).get(f"/api/v1/clients/{self.client.id}/next-session")
        assert answer.status_code == 200, answer.content
        found: dict[str, Any] = answer.json()
        return found

    def advice(self, slot_key: str = "A1") -> dict[str, Any]:
        found = next(one for one in self.next()["session"]["slots"] if one["slot_key"] == slot_key)
        advice: dict[str, Any] = found["advice"]
        return advice

    def accept(self, *, member: Any = None, **item: Any) -> dict[str, Any]:
        session = self.next()["session"]
        body = {"items": [{"planned_session": session["id"], "slot": "A1", **item}]}
        answer = self.cast.api(member or self.cast.coach).post("/api/v1/load-advice/accept", body, format="json")
        assert answer.status_code == 200, answer.content
        (result,) = answer.json()["results"]
        made: dict[str, Any] = result
        return made

    def session(self, week: int) -> dict[str, Any]:
        with business_scope(self.cast.business_id):
            one = PlannedSession.objects.get(assignment_id=self.assignment, week_number=week)
        found: dict[str, Any] = self.cast.api(self.cast.coach).get(f"/api/v1/planned-sessions/{one.id}").json()
        return found

    def line(self, week: int) -> dict[str, Any]:
        line: dict[str, Any] = self.session(week)["prescribed"]["blocks"][0]["slots"][0]["sets"][1]
        return line


def week(number: int) -> date:
    return MONDAY + timedelta(weeks=number - 1)


@pytest.fixture
def story(cast: Cast, clock: Clock) -> Story:
    return Story(cast, clock, document())


def told(advice: dict[str, Any]) -> tuple[str, str, Any]:
    return advice["action"], advice["reason"], advice["load_kg"]


def test_two_sessions_at_the_top_within_the_effort_raise_the_load_by_the_smallest_step(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    advice = story.advice()
    assert told(advice) == ("same", "not_often_enough", 80)
    assert advice["sentence"] == (
        "Stay at 80 kg. 8, 8, 8 at 80 kg on 2031-03-10, all at the top of 6 to 8 with 2 in reserve: "
        "once more and the load goes up."
    )
    story.train(week(2), 8, 8, 8)
    advice = story.advice()
    assert told(advice) == ("up", "top_of_range", 82.5)
    assert advice["sentence"] == (
        "Up to 82.5 kg, 3.1 % more: 8, 8, 8 at 80 kg on 2031-03-10 and 8, 8, 8 at 80 kg on 2031-03-17, "
        "all at the top of 6 to 8 with 2 in reserve."
    )
    assert (advice["step"], advice["step_pct"]) == ({"value": 2.5, "unit": "kg"}, 3.1)
    assert advice["plates"][0]["bar_kg"] == 20
    assert advice["plates"][0]["per_side_kg"] == [25, 5, 1.25]
    assert [one["local_date"] for one in advice["inputs"]] == ["2031-03-17", "2031-03-10"]
    assert "ACSM" in advice["source"]


def test_a_novice_goes_up_after_one_session(cast: Cast, clock: Clock) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(training_since=date(2031, 1, 1))
    story = Story(cast, clock, document())
    story.train(week(1), 8, 8, 8)
    assert told(story.advice()) == ("up", "top_of_range", 82.5)


def test_effort_that_was_not_logged_is_asked_for(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8, rpe=None)
    advice = story.advice()
    assert told(advice) == ("ask", "effort_unknown", 80)
    assert advice["missing"] == ["effort"]


def test_effort_over_what_was_asked_raises_nothing(story: Story) -> None:
    story.train(week(1), 8, 8, 8, rpe=9)
    story.train(week(2), 8, 8, 8, rpe=9.5)
    assert told(story.advice()) == ("same", "effort_above", 80)


def test_one_miss_stays_two_running_go_down_and_two_short_at_once(story: Story) -> None:
    story.train(week(1), 6, 6, 5, rpe=10)
    assert told(story.advice()) == ("same", "one_miss", 80)
    story.train(week(2), 6, 5, 5, rpe=10)
    advice = story.advice()
    assert told(advice) == ("down", "misses_running", 75)
    assert advice["sentence"].startswith("Down to 75 kg, 6.2 % less: ")
    story.train(week(3), 8, 8, 8, load=75)
    story.train(week(4), 6, 6, 4, load=75, rpe=10)
    assert told(story.advice()) == ("down", "two_short", 70)


def test_accepted_advice_stands_on_the_card_with_its_plates_and_says_where_it_is_from(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    result = story.accept(basis=story.advice()["basis"])
    assert (result["outcome"], result["sessions"]) == ("accepted", 1)
    line = story.line(3)
    assert (line["load_kg"], line["load_status"]) == ("82.5", "resolved")
    assert line["resolved_from"].startswith("Advice of 2031-03-17: Up to 82.5 kg, 3.1 % more: ")
    assert line["instead_of"]["load_kg"] == "80"
    accepted = story.session(3)["prescribed"]["blocks"][0]["slots"][0]["accepted_load"]
    assert (accepted["load_kg"], accepted["accepted_by"]) == ("82.5", str(story.cast.coach.id))
    assert story.line(4)["load_kg"] == "80"
    card = story.cast.api(story.cast.client_member).get(f"/api/v1/planned-sessions/{story.session(3)['id']}/card")
    load = card.json()["blocks"][0]["exercises"][0]["sets"][1]["load"]
    assert load["words"] == "82.5 kg"
    assert load["plates"][0]["per_side_kg"] == [25, 5, 1.25]
    # Nothing in it changes what is advised, and accepting again writes nothing.
    assert told(story.advice()) == ("up", "top_of_range", 82.5)
    assert story.accept()["outcome"] == "unchanged"


def test_a_load_for_the_rest_of_the_program_is_written_into_every_session_that_asks_the_same(
    cast: Cast, clock: Clock
) -> None:
    made = document(deload=(5,))
    made["weeks"][6]["days"][0]["blocks"] = document(slot(reps_low=4, reps_high=6))["weeks"][0]["days"][0]["blocks"]
    story = Story(cast, clock, made)
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    result = story.accept(apply_to="rest_of_program")
    assert (result["outcome"], result["sessions"]) == ("accepted", 4)
    assert [story.line(number)["load_kg"] for number in range(1, 9)] == [
        "80", "80", "82.5", "82.5", "80", "82.5", "80", "82.5",
    ]  # fmt: skip


def test_a_newer_log_makes_the_advice_outdated_and_says_so(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    basis = story.advice()["basis"]
    story.train(week(3), 6, 6, 4, rpe=10)
    result = story.accept(basis=basis)
    assert (result["outcome"], result["code"]) == ("refused", "advice_outdated")
    assert result["detail"].startswith("Since the advice was read, its logs changed. Now: Down to 75 kg")
    assert story.line(4)["load_kg"] == "80"


def test_a_coachs_own_load_is_written_as_it_is(story: Story) -> None:
    story.train(week(1), 7, 7, 7)
    result = story.accept(load_kg=81)
    assert result["outcome"] == "accepted"
    line = story.line(2)
    assert (line["load_kg"], line["resolved_from"][:49]) == (
        "81",
        "Advice of 2031-03-10: The coach's own load. Advis",
    )


def pain(score: int) -> list[dict[str, Any]]:
    return [{"site": "knee", "side": "left", "score": score, "when": "during", "onset": "known"}]


def test_a_pain_lets_nothing_go_up_and_a_worse_one_stops_the_movement(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    assert story.advice()["action"] == "up"
    story.check_in(week(2), pains=pain(4))
    advice = story.advice()
    assert told(advice) == ("hold", "held_for_pain", 80)
    assert "loads the left knee, held for pain since 2031-03-17" in advice["sentence"]
    refused = story.accept(load_kg=85)
    assert (refused["outcome"], refused["code"]) == ("refused", "held_for_pain")
    assert story.accept(load_kg=75)["outcome"] == "accepted"
    story.check_in(week(2) + timedelta(days=1), pains=pain(8))
    advice = story.advice()
    assert told(advice) == ("hold", "movement_stopped", None)
    assert story.accept(load_kg=60)["code"] == "held_for_pain"


def test_a_pain_reported_a_moment_ago_holds_before_any_job_has_run(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    basis = story.advice()["basis"]
    one = {"external_id": "c1", "client": str(story.client.id), "local_date": str(week(2)), "pains": pain(8)}
    story.cast.key("logs:write").post("/api/v1/log-batches", {"check_ins": [one]}, format="json")
    result = story.accept(basis=basis)
    assert (result["outcome"], result["code"]) == ("refused", "advice_outdated")
    assert result["detail"].startswith("Since the advice was read, what holds the client for pain changed. Now: ")
    assert story.line(3)["load_kg"] == "80"


def test_accepting_what_a_session_has_already_writes_nothing_and_freezes_no_percentage(
    cast: Cast, clock: Clock
) -> None:
    api = cast.api(cast.coach)
    kept = {"exercise": "back-squat", "kind": "training_max", "load_kg": 100, "on_date": "2031-03-01"}
    assert api.post(f"/api/v1/clients/{cast.anna.id}/reference-loads", kept, format="json").status_code == 201
    percent = {"kind": "percent", "of": "training_max", "pct": "75"}
    story = Story(cast, clock, document(slot(reps_low=5, reps_high=None, load=percent)))
    story.train(week(1), 5, 5, 5, load=75)
    assert story.accept(apply_to="rest_of_program")["outcome"] == "unchanged"
    assert story.line(2)["load"]["kind"] == "percent"


def test_a_symptom_stops_all_advice(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.check_in(week(1), symptoms=["chest_pain"])
    assert told(story.advice()) == ("hold", "training_stopped", None)


def test_twenty_days_without_training_take_a_tenth_off_and_a_third_of_the_sets(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    story.on(week(2) + timedelta(days=20))
    story.miss(3, 4)
    found = story.next()
    # The session is planned for the day after, 21 days on.
    assert (found["gap"]["rule"], found["gap"]["gap_days"], found["gap"]["load_cut_pct"]) == ("short_gap", 21, 10)
    advice = found["session"]["slots"][0]["advice"]
    assert told(advice) == ("down", "after_gap", 70)
    assert (advice["sets"], advice["rpe_most"]) == (2, 7)
    assert "CSCCa" in advice["source"]


def test_back_after_a_gap_the_load_returns_over_two_weeks(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(4), 8, 8, 8, load=70, rpe=7)
    story.miss(2, 3)
    advice = story.advice()
    # A week of the two is over on the day of the next session: 5 % of 80 kg are still off.
    assert told(advice) == ("up", "back_after_gap", 75)
    assert advice["sentence"] == "75 kg, on the way back to 8, 8, 8 at 80 kg on 2031-03-10."


def test_after_thirteen_weeks_or_a_fever_a_client_starts_as_new(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.check_in(week(1) + timedelta(days=2), symptoms=["fever_or_infection"])
    api = story.cast.api(story.cast.coach)
    (flag,) = api.get("/api/v1/flags?kind=symptom&state=open").json()["items"]
    api.post(f"/api/v1/flags/{flag['id']}/resolve", {"resolution": "Cleared by a doctor."}, format="json")
    found = story.next()
    assert found["gap"]["rule"] == "start_as_new"
    assert told(found["session"]["slots"][0]["advice"]) == ("start", "start_as_new", None)
    # After one session as new, the loads before count no more.
    story.train(week(2), 8, 8, 8, load=50, rpe=6)
    advice = story.advice()
    assert advice["last"] == {"value": 50, "unit": "kg"}


def test_only_24_kg_bells_are_next_so_repetitions_come_first(cast: Cast, clock: Clock) -> None:
    swing = slot(exercise="goblet-squat", reps_low=5, reps_high=8, rpe=10, load=None, tempo=None)
    story = Story(cast, clock, document(swing))
    for number in (1, 2):
        story.train(week(number), 8, 8, 8, load=20, rpe=10, exercise="goblet-squat")
    advice = story.advice()
    assert told(advice) == ("hold", "step_too_big", 20)
    assert advice["repetitions_first"] == 12
    assert advice["sentence"] == ("Add repetitions first: the next load is 24 kg, 20 % more; at 20 kg do 12 before.")
    for number in (3, 4):
        story.train(week(number), 12, 12, 12, load=20, rpe=10, exercise="goblet-squat")
    assert told(story.advice()) == ("up", "big_step_reached", 24)


def test_a_place_with_bigger_steps_gives_loads_that_it_can_make(cast: Cast, clock: Clock) -> None:
    story = Story(cast, clock, document())
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    with business_scope(cast.business_id):
        place = Place.objects.create(
            client=cast.anna,
            name="Hotel",
            kind="hotel",
            equipment=["barbell"],
            load_steps={"barbell": {"step_kg": "10"}},
        )
        PlannedSession.objects.filter(assignment_id=story.assignment, week_number=3).update(place=place)
    # From 80 kg the next 10 kg are 12.5 %: repetitions first.
    assert told(story.advice()) == ("hold", "step_too_big", 80)


def test_a_client_in_pounds_is_advised_in_pounds(cast: Cast, clock: Clock) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(unit="lb")
    story = Story(cast, clock, document(slot(load={"kind": "absolute", "load_lb": "185"})))
    for number in (1, 2):
        story.train(week(number), 8, 8, 8, load=185, unit="load_lb")
    advice = story.advice()
    assert (advice["action"], advice["load_entered"]) == ("up", {"value": 190, "unit": "lb"})
    assert advice["plates"][0]["per_side_lb"] == [45, 25, 2.5]


def test_a_deload_is_done_as_prescribed_and_nothing_goes_up_from_it(cast: Cast, clock: Clock) -> None:
    story = Story(cast, clock, document(deload=(2,)))
    story.train(week(1), 8, 8, 8)
    assert told(story.advice()) == ("same", "deload", 80)
    assert story.accept()["code"] == "deload"
    story.train(week(2), 8, 8, 8)
    assert told(story.advice()) == ("same", "not_often_enough", 80)


def test_percentages_follow_their_reference_and_say_when_it_looks_wrong(cast: Cast, clock: Clock) -> None:
    api = cast.api(cast.coach)
    kept = {"exercise": "back-squat", "kind": "training_max", "load_kg": 100, "on_date": "2031-03-01"}
    assert api.post(f"/api/v1/clients/{cast.anna.id}/reference-loads", kept, format="json").status_code == 201
    percent = {"kind": "percent", "of": "training_max", "pct": "75"}
    story = Story(cast, clock, document(slot(reps_low=5, reps_high=None, load=percent)))
    assert told(story.advice()) == ("same", "nothing_comparable", 75)
    for number in (1, 2):
        story.train(week(number), 5, 5, 5, load=75, rpe=6)
    advice = story.advice()
    assert told(advice) == ("same", "percent_too_light", 75)
    assert advice["suggestion"] == "Test again, or set a higher training maximum."
    for number in (3, 4):
        story.train(week(number), 5, 5, 5, load=75, rpe=9.5)
    assert told(story.advice()) == ("same", "percent_too_heavy", 75)


def test_effort_off_the_same_way_twice_moves_a_load_that_goes_by_effort(cast: Cast, clock: Clock) -> None:
    story = Story(cast, clock, document(slot(reps_low=5, reps_high=None, load=None)))
    first = story.advice()
    assert told(first) == ("start", "nothing_comparable", None)
    story.train(week(1), 5, 5, 5, load=100, rpe=7)
    assert told(story.advice()) == ("same", "effort_on_target", 100)
    story.train(week(2), 5, 5, 5, load=100, rpe=7)
    assert told(story.advice()) == ("up", "effort_easier", 102.5)
    story.train(week(3), 5, 5, 5, load=100, rpe=9)
    story.train(week(4), 5, 5, 5, load=100, rpe=9)
    assert told(story.advice()) == ("down", "effort_harder", 95)


def test_repetitions_not_done_before_start_from_the_estimate(cast: Cast, clock: Clock) -> None:
    made = document(slot(reps_low=5, reps_high=None, load=None), weeks=2)
    made["weeks"][1]["days"][0]["blocks"] = document(slot(reps_low=8, reps_high=None, load=None))["weeks"][0]["days"][
        0
    ]["blocks"]
    story = Story(cast, clock, made)
    story.train(week(1), 5, 5, 5, load=100, rpe=8)
    advice = story.advice()
    # Epley: 100 x (1 + 7/30) = 123.33; for 8 with 2 in reserve 123.33 / (1 + 10/30) = 92.5.
    assert told(advice) == ("start", "from_estimate", 92.5)


def test_another_tempo_is_not_compared(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    slow = {"prescribed": [{"slot_key": "A1", "sets": slot(tempo="50X1")["sets"]}]}
    session = story.session(3)
    answer = story.cast.api(story.cast.coach).patch(
        f"/api/v1/planned-sessions/{session['id']}", slow, format="json", HTTP_IF_MATCH="*"
    )
    assert answer.status_code == 200, answer.content
    assert told(story.advice()) == ("same", "nothing_comparable", 80)


def test_a_swapped_exercise_is_advised_for_itself(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    session = story.session(3)
    change = {
        "planned_sessions": [session["id"]],
        "change": {"kind": "swap", "exercise": "back-squat", "instead": "front-squat"},
    }
    assert (
        story.cast.api(story.cast.coach)
        .post("/api/v1/planned-sessions/bulk-change", change, format="json")
        .json()["summary"]["changed"]
        == 1
    )
    found = story.next()["session"]["slots"][0]
    assert found["exercise"] == "front-squat"
    assert told(found["advice"]) == ("start", "nothing_comparable", None)


def test_an_accepted_load_holds_on_a_move_of_version_while_the_slot_asks_the_same(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    story.accept(apply_to="rest_of_program")
    made = document()
    made["weeks"][4]["days"][0]["blocks"] = document(slot(reps_low=4))["weeks"][0]["days"][0]["blocks"]
    made["weeks"][5]["days"][0]["title"] = "Renamed"
    with business_scope(story.cast.business_id):
        followed = PlannedSession.objects.get(assignment_id=story.assignment, week_number=3).version
        version = write_draft(program_id=followed.variant.program_id, variant_id=followed.variant_id, content=made)
        publish_version(actor_membership_id=None, version_id=version.id, now=NOON)
    body = {"version": str(version.id), "from_date": str(week(3))}
    answer = story.cast.api(story.cast.coach).post(
        f"/api/v1/assignments/{story.assignment}/move-to-version", body, format="json"
    )
    assert answer.status_code == 200, answer.content
    assert [story.line(number)["load_kg"] for number in (3, 4, 5, 6)] == ["82.5", "82.5", "80", "82.5"]
    assert "The load accepted for A1, 82.5 kg, is left out: the slot asks for something else now." in str(answer.json())


def test_taking_back_a_sessions_changes_takes_its_accepted_load(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    story.accept()
    session = story.session(3)
    assert session["changes"]["loads"]["A1"]["load_kg"] == "82.5"
    answer = story.cast.api(story.cast.coach).patch(
        f"/api/v1/planned-sessions/{session['id']}", {"prescribed": None}, format="json", HTTP_IF_MATCH="*"
    )
    assert answer.status_code == 200, answer.content
    assert story.line(3)["load_kg"] == "80"


def test_a_client_sees_their_own_advice_and_accepts_nothing(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    assert story.next(story.cast.client_member)["session"]["slots"][0]["advice"]["action"] == "same"
    api = story.cast.api(story.cast.client_member)
    assert api.get(f"/api/v1/clients/{story.cast.ben.id}/next-session").status_code == 404
    assert api.post("/api/v1/load-advice/accept", {"items": []}, format="json").status_code == 403


def test_a_client_without_a_program_has_nothing_next_and_is_told_so(cast: Cast) -> None:
    found = cast.api(cast.coach).get(f"/api/v1/clients/{cast.ben.id}/next-session").json()
    assert (found["session"], found["reason"]) == (None, "nothing_planned")


def test_what_can_not_be_accepted_is_told_item_by_item(story: Story, neighbour: Cast) -> None:
    story.train(week(1), 8, 8, 8)
    session = story.next()["session"]["id"]
    other = Story(neighbour, story.clock, document())
    items = [
        {"planned_session": session, "slot": "Z9"},
        {"planned_session": other.next()["session"]["id"], "slot": "A1"},
        {"planned_session": session, "slot": "A1", "load_kg": 82.5},
    ]
    answer = story.cast.api(story.cast.coach).post("/api/v1/load-advice/accept", {"items": items}, format="json").json()
    assert [(one["outcome"], one["code"]) for one in answer["results"]] == [
        ("refused", "unknown_slot"),
        ("refused", "unknown_object"),
        ("accepted", ""),
    ]
    assert answer["summary"] == {"accepted": 1, "unchanged": 0, "refused": 2}


def test_forty_clients_are_advised_and_accepted_in_as_many_statements_as_one(cast: Cast, clock: Clock) -> None:
    clock.move_to(datetime(2031, 3, 10, 12, tzinfo=UTC))
    api, counts = cast.api(cast.coach), []
    for size in (1, 40):
        with business_scope(cast.business_id):
            clients = [
                Client.objects.create(name=f"Client {size} {number}", coach=cast.coach, time_zone="UTC", unit="kg")
                for number in range(size)
            ]
            assign(cast.coach, published(document(weeks=2)), *[client.id for client in clients], weekdays=(0,))
        logs = _logs(clients)
        assert cast.key("logs:write").post("/api/v1/log-batches", logs, format="json").json()["summary"]["refused"] == 0
        with CaptureQueriesContext(connection) as listing:
            items = api.get("/api/v1/load-advice?coach=me&action=same&limit=200").json()["items"]
        assert {one["client"] for one in items} >= {str(client.id) for client in clients}
        own = [one for one in items if one["client"] in {str(client.id) for client in clients}]
        body = {"items": [{"planned_session": one["id"], "slot": "A1", "load_kg": 85} for one in own]}
        with CaptureQueriesContext(connection) as accepting:
            answer = api.post("/api/v1/load-advice/accept", body, format="json").json()
        assert answer["summary"]["accepted"] == size
        counts.append((len(listing), len(accepting)))
    assert counts[0] == counts[1]


def _logs(clients: list[Client]) -> dict[str, Any]:
    day = str(MONDAY)

    def names(client: UUID) -> dict[str, Any]:
        return {"client": str(client)}

    return {
        "session_logs": [
            {"external_id": f"s{client.id}", **names(client.id), "local_date": day, "duration_min": 40}
            for client in clients
        ],
        "set_logs": [
            {
                "external_id": f"s{client.id}-{number}",
                **names(client.id),
                "session_external_id": f"s{client.id}",
                "exercise": "back-squat",
                "slot": "A1",
                "set_number": number,
                "reps": 7,
                "load_kg": 80,
                "rpe": 8,
            }
            for client in clients
            for number in (2, 3, 4)
        ],
    }
