"""Every call that the API takes, with a body that names what it can by id."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from tests.architecture.world import CLIENTS_OWN, address
from tests.coaching.test_policy import VIEWS
from tests.programs.api.test_own_exercises import own
from tests.programs.documents import content

Ids = Mapping[str, str]

_FROM: Final = "2031-03-20"
_DAY: Final = "2031-03-13"
_SET: Final = {"reps": 5, "load_kg": 80, "set_number": 2}


def _session_log(ids: Ids) -> dict[str, Any]:
    return {"external_id": "n1", "client": ids["client_id"], "local_date": _DAY, "duration_min": 30}


def _set_log(ids: Ids) -> dict[str, Any]:
    named = {"client": ids["client_id"], "exercise": ids["exercise_id"], "session_log": ids["session-logs"]}
    return {"external_id": "n2", **named, **_SET}


def _check_in(ids: Ids) -> dict[str, Any]:
    answered = {"form": ids["form_id"], "answers": {"mood": 3}}
    return {"external_id": "n3", "client": ids["client_id"], "local_date": _DAY, "sleep": 3, **answered}


def _form(_: Ids) -> dict[str, Any]:
    question = {"key": "mood", "text": "Mood?", "kind": "scale", "minimum": 1, "maximum": 5}
    return {"name": "Evening", "cadence": "daily", "questions": [question]}


def _squats(ids: Ids) -> dict[str, Any]:
    sets = [{"count": 3, "kind": "work", "reps_low": 5}]
    return {"exercise": ids["exercise_id"], "goal": "strength", "sets": sets}


def _new_content(ids: Ids) -> dict[str, Any]:
    made = content(weeks=1, days=1)
    made["weeks"][0]["days"][0]["blocks"][0]["slots"][0]["exercise"] = ids["exercise_id"]
    return made


BODIES: Final[dict[str, Callable[[Ids], dict[str, Any]]]] = {
    "sessions.create": lambda ids: {
        "email": "olga@northern-iron.example",
        "password": "not the password",
        "business": ids["business_id"],
    },
    "passwords.change": lambda _: {"current": "not the password", "new": "kettle over granite 7"},
    "password_resets.create": lambda _: {"email": "nobody@northern-iron.example"},
    "password_resets.confirm": lambda _: {"token": "none", "password": "kettle over granite 7"},
    "invitations.create": lambda ids: {"email": "invited@team.example", "client": ids["client_id"]},
    "invitations.resend": lambda _: {},
    "invitations.accept": lambda _: {"token": "none"},
    "sessions.rotate": lambda _: {},
    "second_factor.start": lambda _: {"password": "not the password"},
    "second_factor.confirm": lambda _: {"code": "000000"},
    "second_factor.turn_off": lambda _: {"password": "not the password", "code": "000000"},
    "second_factor.renew_codes": lambda _: {"password": "not the password", "code": "000000"},
    "business.update": lambda _: {"name": "Renamed"},
    "coaches.create": lambda _: {"email": "new@team.example", "name": "New", "role": "coach"},
    "coaches.update": lambda _: {"time_zone": "America/Lima"},
    "clients.create": lambda ids: {"name": "New", "coach": ids["coach_id"], "viewers": [ids["viewer_id"]]},
    "clients.update": lambda ids: {"name": "Changed", "coach": ids["coach_id"], "viewers": [ids["viewer_id"]]},
    "consent_texts.create": lambda _: {"kind": "messages", "text": "We write to you."},
    "consents.create": lambda ids: {"text": ids["consent_text_id"], "given_how": "on_paper"},
    "consents.withdraw": lambda _: {"withdrawn_how": "spoken"},
    "exports.create": lambda ids: {"client": ids["client_id"]},
    "erasures.create": lambda _: {"confirm": "Anna"},
    "retention_policy.update": lambda _: {"log_batch_days": 90},
    "places.create": lambda _: {"name": "Shed", "kind": "home", "equipment": []},
    "places.update": lambda _: {"name": "Changed"},
    "api_keys.create": lambda ids: {"name": "New", "scopes": ["logs:read"], "client_ids": [ids["client_id"]]},
    "api_keys.rotate": lambda _: {"overlap_h": 2},
    "absences.create": lambda ids: {
        "client": ids["client_id"],
        "starts_on": "2031-03-25",
        "ends_on": "2031-03-26",
        "kind": "travel",
        "treatment": "travel_kit",
        "place": ids["place_id"],
    },
    "exercises.create": lambda _: own(),
    "exercises.update": lambda _: {"name": "Changed"},
    "exercises.merge": lambda ids: {"into": ids["other_exercise_id"]},
    "prescriptions.analyse": lambda ids: {
        "session": {
            "title": "One",
            "blocks": [{"kind": "straight", "label": "A", "slots": [{"slot_key": "A1", **_squats(ids)}]}],
        },
        "client": ids["client_id"],
    },
    "prescriptions.pairings": lambda ids: {
        "exercises": [_squats(ids), {**_squats(ids), "exercise": ids["other_exercise_id"]}],
        "client": ids["client_id"],
    },
    "prescriptions.parse": lambda _: {"text": "back squat 3x5"},
    "programs.create": lambda _: {"name": "New", "variants": [{"name": "One"}]},
    "programs.update": lambda _: {"name": "Changed"},
    "program_versions.create": lambda ids: {"variant": ids["variant_id"], "content": _new_content(ids)},
    "program_versions.update": lambda ids: {"content": _new_content(ids)},
    "program_versions.publish": lambda _: {},
    "program_versions.withdraw": lambda _: {},
    "program_versions.preview": lambda _: {"weeks": 2},
    "assignments.create": lambda ids: {
        "version": ids["version_id"],
        "calendar": "fixed_days",
        "start_date": _FROM,
        "weekdays": [0, 2, 4],
        "clients": [{"client": ids["client_id"]}],
    },
    "assignments.update": lambda _: {"state": "ended"},
    "assignments.pause": lambda _: {"from_date": _FROM},
    "assignments.resume": lambda _: {"on": _FROM},
    "assignments.shift": lambda _: {"days": 7, "from_date": _FROM},
    "assignments.move_to_version": lambda ids: {"version": ids["version_id"], "from_date": _FROM},
    "assignments.move_all_to_version": lambda ids: {
        "version": ids["version_id"],
        "from_date": _FROM,
        "assignments": [{"assignment": ids["assignment_id"]}],
    },
    "substitutions.create": lambda ids: {
        "substitutions": [
            {
                "assignment": ids["assignment_id"],
                "exercise": ids["exercise_id"],
                "substitute": ids["other_exercise_id"],
            }
        ]
    },
    "planned_sessions.update": lambda _: {"state": "excused", "excuse_reason": "ill"},
    "planned_sessions.bulk_change": lambda ids: {
        "planned_sessions": [ids["planned_session_id"]],
        "change": {"kind": "excuse", "reason": "ill"},
    },
    "reference_loads.create": lambda ids: {
        "exercise": ids["exercise_id"],
        "kind": "tested",
        "load_kg": 120,
        "on_date": "2031-03-02",
    },
    "reference_loads.update": lambda _: {"tempo_factors": {"slow": 0.85}},
    "timeline_policy.update": lambda _: {"between_blocks_s": 150},
    "log_batches.create": lambda ids: {
        "session_logs": [{**_session_log(ids), "planned_session": ids["planned_session_id"]}],
        "set_logs": [_set_log(ids)],
        "check_ins": [_check_in(ids)],
    },
    "log_imports.create": lambda _: {"file": "Date,Exercise,Reps\n2031-03-10,Back squat,5\n"},
    "log_imports.update": lambda _: {"sessions_by": "start_time"},
    "log_imports.dry_run": lambda _: {},
    "log_imports.commit": lambda _: {},
    "session_logs.create": _session_log,
    "session_logs.update": lambda ids: {"notes": "Changed", "planned_session": ids["planned_session_id"]},
    "set_logs.create": _set_log,
    "set_logs.update": lambda ids: {"exercise": ids["other_exercise_id"]},
    "check_ins.create": _check_in,
    "check_ins.update": lambda _: {"sleep": 2},
    "load_advice.accept": lambda ids: {"items": [{"planned_session": ids["planned_session_id"], "slot": "A1"}]},
    "check_in_forms.create": _form,
    "check_in_forms.update": lambda _: {"name": "Changed"},
    "flags.acknowledge": lambda _: {},
    "flags.resolve": lambda _: {"resolution": "Talked it over."},
}

_UPLOADS: Final = frozenset({"log_imports.create"})
"""Operations whose body is a file."""

# A draft is what these two are for.
_OF_DRAFTS: Final = frozenset({"program_versions.update", "program_versions.publish"})

FILTERS: Final = {
    "client": "client_id",
    "coach": "coach_id",
    "assignment": "assignment_id",
    "session_log": "session-logs",
    "against": "version_id",
    "actor": "actor_id",
    "version": "version_id",
    "with_assignment": "assignment_id",
    "with_version": "version_id",
}
"""Which of the world's ids a filter of a list takes."""


@dataclass(frozen=True)
class Call:
    """One way to call an operation; `parameter` is the filter of a list that it uses."""

    operation: str
    method: str
    path: str
    parameter: str = ""

    def __str__(self) -> str:
        return f"{self.operation} {self.parameter}".strip()

    def address(self, ids: Ids) -> str:
        """Return the address, of the draft and of exercises by id, with the filter."""
        version = ids["draft_id" if self.operation in _OF_DRAFTS else "version_id"]
        found = address(self.path, {**ids, "exercise": ids["exercise_id"], "version_id": version})
        return f"{found}?{self.parameter}={ids[FILTERS[self.parameter]]}" if self.parameter else found

    def body(self, ids: Ids) -> dict[str, Any] | None:
        """Return the body, None where the method takes none."""
        return None if self.method in {"GET", "DELETE"} else BODIES[self.operation](ids)

    def differs(self, ids: Ids, others: Ids) -> bool:
        """Say whether the call is another with the other ids."""
        return self.address(ids) != self.address(others) or self.body(ids) != self.body(others)

    def is_of_a_client(self) -> bool:
        """Say whether the address names something of one client."""
        names = {*re.findall(r"<\w+:(\w+)>", self.path), FILTERS.get(self.parameter)}
        return bool(names & {*CLIENTS_OWN, "log_id"})

    def send(self, api: Any, ids: Ids) -> Any:
        """Call it."""
        body, answer = self.body(ids), getattr(api, self.method.lower())
        if self.operation in _UPLOADS:
            return answer(self.address(ids), data=BODIES[self.operation](ids)["file"], content_type="text/csv")
        named = {"HTTP_IF_MATCH": "*"} if self.method in {"PATCH", "PUT", "DELETE"} else {}
        return answer(self.address(ids), **({} if body is None else {"data": body, "format": "json"}), **named)


def _calls() -> Iterator[Call]:
    for path, view in VIEWS:
        for method, operation in getattr(view, "operations", {}).items():
            parameters = view.parameters_of(method)
            if not any(parameter.required for parameter in parameters):
                yield Call(operation, method, path)
            for parameter in parameters:
                if parameter.kind == "uuid":
                    yield Call(operation, method, path, parameter.name)


CALLS: Final = tuple(_calls())
