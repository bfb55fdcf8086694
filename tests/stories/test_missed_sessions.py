"""A coach in Paris, clients in Paris and Chicago, one week: who is told of what, when, and how often."""

from datetime import UTC, datetime, timedelta
from typing import Any

import time_machine

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from tests.scenario import Cast
from tests.smtp_server import SmtpSink

MONDAY = datetime(2031, 3, 3, 7, tzinfo=UTC)
TUESDAY, WEDNESDAY, THURSDAY, FRIDAY = (MONDAY + timedelta(days=day) for day in range(1, 5))
CONTENT = {
    "weeks": [
        {
            "week_number": 1,
            "deload": False,
            "days": [
                {
                    "day_number": day_number,
                    "template_key": template_key,
                    "title": title,
                    "cap_min": None,
                    "blocks": [
                        {
                            "kind": "straight",
                            "label": "A",
                            "slots": [
                                {
                                    "slot_key": "A1",
                                    "exercise": "back-squat",
                                    "goal": "strength",
                                    "per_side": False,
                                    "rest_s": 120,
                                    "notes": "",
                                    "sets": [
                                        {
                                            "count": 3,
                                            "kind": "work",
                                            "reps_low": 5,
                                            "reps_high": 5,
                                            "tempo": "31X1",
                                            "rpe": 8,
                                            "load": {"kind": "absolute", "load_kg": "80"},
                                        }
                                    ],
                                }
                            ],
                        }
                    ],
                }
                for day_number, template_key, title in ((1, "lower-a", "Lower A"), (2, "lower-b", "Lower B"))
            ],
        }
    ]
}


def _coach(cast: Cast) -> Any:
    # A sign-in lasts 12 hours, the story a week.
    cast.tokens.clear()
    return cast.api(cast.coach)


def _post(api: Any, path: str, body: dict[str, Any] | None = None) -> dict[str, Any]:
    answer = api.post(f"/api/v1/{path}", body or {}, format="json")
    assert answer.status_code in {200, 201}, answer.content
    return dict(answer.json())


def _assign_to(cast: Cast, *client_ids: Any) -> None:
    coach = _coach(cast)
    program = _post(coach, "programs", {"name": "Ground", "variants": [{"name": "Two days"}]})
    draft = _post(
        coach,
        f"programs/{program['id']}/versions",
        {"variant": program["variants"][0]["id"], "content": CONTENT},
    )
    _post(coach, f"program-versions/{draft['id']}/publish")
    answer = _post(
        coach,
        "assignments",
        {
            "version": draft["id"],
            "calendar": "fixed_days",
            "start_date": "2031-03-03",
            "weekdays": [1, 3],
            "clients": [{"client": str(client_id)} for client_id in client_ids],
        },
    )
    assert [result["outcome"] for result in answer["results"]] == ["assigned"] * len(client_ids)


def _log(cast: Cast, client_id: Any, started_at: str, finished_at: str) -> None:
    answer = _post(
        cast.key("logs:write"),
        "log-batches",
        {
            "source": "gym-floor-app",
            "session_logs": [
                {
                    "external_id": f"{client_id} {started_at}",
                    "client": str(client_id),
                    "started_at": started_at,
                    "finished_at": finished_at,
                    "session_rpe": 7,
                }
            ],
        },
    )
    assert [item["outcome"] for item in answer["items"]] == ["created"], answer


class Clock:
    """Time as the whole process sees it, moved by half hours with the jobs of beat at each."""

    def __init__(self, traveller: Any) -> None:
        self._traveller = traveller
        self.now = MONDAY

    def pass_until(self, until: datetime) -> None:
        while self.now < until:
            self.now = min(self.now + timedelta(minutes=30), until)
            self._traveller.move_to(self.now)
            run_due_jobs(jobs=registry.tick_jobs, now=self.now, seconds=30)
            run_due_jobs(jobs=registry.dispatch_jobs, now=self.now, seconds=30)


def _sessions(cast: Cast, client_id: Any) -> dict[str, str]:
    answer = _coach(cast).get(f"/api/v1/planned-sessions?client={client_id}")
    assert answer.status_code == 200, answer.content
    return {item["title"]: item["state"] for item in answer.json()["items"]}


def _alerts(cast: Cast, client_id: Any) -> list[dict[str, Any]]:
    answer = _coach(cast).get(f"/api/v1/alerts?client={client_id}")
    assert answer.status_code == 200, answer.content
    return list(answer.json()["items"])


def test_a_week_of_missed_late_and_excused_sessions(cast: Cast, smtp: SmtpSink) -> None:
    anna, ben = cast.anna.id, cast.ben.id
    with time_machine.travel(MONDAY, tick=False) as traveller:
        clock = Clock(traveller)
        _assign_to(cast, anna, ben)

        # Anna is away from Thursday on: that session is excused before it comes.
        _post(
            _coach(cast),
            "absences",
            {"client": str(anna), "starts_on": "2031-03-06", "ends_on": "2031-03-09", "kind": "holiday"},
        )

        # Neither logs anything on Tuesday. On Wednesday at seven in Paris only Anna's counts as missed.
        clock.pass_until(WEDNESDAY - timedelta(hours=1, minutes=30))
        assert smtp.letters == []
        clock.pass_until(WEDNESDAY)
        (digest,) = smtp.letters
        assert (digest.to, digest.subject) == ("cora@northern-iron.example", "1 session missed")
        assert "Anna: Lower A, planned for Tuesday 4 March 2031" in digest.text
        assert "Ben" not in digest.text

        # Ben's counts from six in the morning in Chicago. His app comes online that evening: he had trained.
        clock.pass_until(WEDNESDAY + timedelta(hours=8))
        assert _sessions(cast, ben)["Lower A"] == "missed"
        (alert,) = _alerts(cast, ben)
        assert (alert["state"], alert["digest"]) == ("standing", None)
        _log(cast, ben, "2031-03-04T18:00:00-06:00", "2031-03-04T18:45:00-06:00")
        assert _sessions(cast, ben)["Lower A"] == "done"
        (alert,) = _alerts(cast, ben)
        assert (alert["state"], alert["reason"], alert["digest"]) == (
            "withdrawn",
            "The session was logged.",
            None,
        )

        # Anna's log comes on Thursday, after the coach was told: the session is right, what was said stays said.
        clock.pass_until(THURSDAY + timedelta(hours=5))
        _log(cast, anna, "2031-03-04T19:00:00+01:00", "2031-03-04T19:50:00+01:00")
        assert _sessions(cast, anna) == {"Lower A": "done", "Lower B": "excused"}
        (alert,) = _alerts(cast, anna)
        assert (alert["state"], alert["session_state"]) == ("standing", "done")
        assert alert["digest"]["delivery"]["state"] == "sent"

        # Ben logs Thursday on time. Nobody hears anything more.
        clock.pass_until(FRIDAY - timedelta(hours=1))
        _log(cast, ben, "2031-03-06T18:00:00-06:00", "2031-03-06T18:45:00-06:00")
        clock.pass_until(FRIDAY + timedelta(days=3))
        assert _sessions(cast, ben) == {"Lower A": "done", "Lower B": "done"}
        assert len(smtp.letters) == 1
