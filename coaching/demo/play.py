"""Play the main job through the public HTTP API, as a coaching team and a third-party app would."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cache
from hashlib import sha256
from itertools import islice
from typing import Any, Final
from zoneinfo import ZoneInfo

import httpx

from coaching.demo.people import APP_SOURCE, CLIENTS, COACHES, PASSWORD, ClientProfile, Story
from coaching.demo.processes import ROOT, DemoError
from coaching.demo.programs import PROGRAM, version_documents
from coaching.demo.simulation import (
    REFERENCE_LIFTS,
    ClientLogs,
    PlannedDay,
    holiday_of,
    simulate_client,
    starts_on,
    tested_maximum_kg,
)

BATCH_ITEMS: Final = 5000
PAGE: Final = 200
DAY_ENDS: Final = timedelta(hours=4)


@dataclass
class Played:
    """What the demo made, for the table and the tests."""

    client_ids: dict[str, str] = field(default_factory=dict)
    coach_ids: dict[str, str] = field(default_factory=dict)
    planned: dict[str, list[PlannedDay]] = field(default_factory=dict)
    logs: dict[str, ClientLogs] = field(default_factory=dict)
    sessions_assigned: int = 0
    outcomes: dict[str, int] = field(default_factory=dict)
    cautions: list[str] = field(default_factory=list)
    api_key: str = ""


class Caller:
    """An HTTP client that signs its calls and stops at the first refusal."""

    def __init__(self, http: httpx.Client, credential: str = "") -> None:
        self._http = http
        self._headers = {"Authorization": f"Bearer {credential}"} if credential else {}

    def post(self, path: str, body: dict[str, Any]) -> dict[str, Any]:
        """Post a document and return the answer.

        Raises:
            DemoError: when the service refuses it, in the service's own words.
        """
        return self._answer(self._http.post(f"/api/v1{path}", json=body, headers=self._headers))

    def get(self, path: str, **query: Any) -> dict[str, Any]:
        """Get a document.

        Raises:
            DemoError: when the service refuses.
        """
        return self._answer(self._http.get(f"/api/v1{path}", params=query, headers=self._headers))

    def all(self, path: str, **query: Any) -> Iterator[dict[str, Any]]:
        """Walk every page of a list."""
        answer = self.get(path, limit=PAGE, **query)
        yield from answer["items"]
        while answer["next"]:
            answer = self._answer(self._http.get(answer["next"], headers=self._headers))
            yield from answer["items"]

    @staticmethod
    def _answer(response: httpx.Response) -> dict[str, Any]:
        if response.is_success:
            document: dict[str, Any] = response.json()
            return document
        raise DemoError(f"{response.request.method} {response.request.url.path} was refused:\n{response.text[:2000]}")


def sign_in(http: httpx.Client, email: str) -> Caller:
    """Sign a demo person in."""
    return Caller(http, Caller(http).post("/sessions", {"email": email, "password": PASSWORD})["token"])


def play(http: httpx.Client, *, now: datetime, say: Callable[[str], None]) -> Played:
    """Play the job up to the logs; what follows is the workers' part.

    Args:
        http: a client with the service's address.
        now: the instant that the twelve weeks end before.
        say: shows progress.

    Raises:
        DemoError: when the service refuses a step.
    """
    owner = sign_in(http, COACHES[0].email)
    played = Played()
    say("The team and its program")
    _hire(owner, played)
    versions = _publish(owner, now)
    say(f"{len(CLIENTS)} clients, their tested lifts, and who is away")
    _register(owner, played, now)
    say("One version to many clients in one call, three times")
    _assign(owner, played, versions, now)
    say("Twelve weeks of logs from a third-party app")
    _log(http, owner, played, now)
    return played


def played_before(http: httpx.Client, now: datetime) -> bool | None:
    """Say whether the scenario that ends yesterday is there.

    None where none is, False for one of another day or one that another version of the service made of it.
    """
    answer = http.post("/api/v1/sessions", json={"email": COACHES[0].email, "password": PASSWORD})
    if not answer.is_success:
        return None
    programs = Caller(http, answer.json()["token"]).get("/programs")["items"]
    return any(program["notes"] == _scenario_of(now) for program in programs)


def recall(http: httpx.Client) -> Played:
    """Read back what an earlier run of the same day made, with a new key for the app."""
    owner = sign_in(http, COACHES[0].email)
    by_name = {client["name"]: client["id"] for client in owner.all("/clients")}
    played = Played(client_ids={profile.slug: by_name[profile.name] for profile in CLIENTS})
    played.sessions_assigned = sum(1 for _ in owner.all("/planned-sessions"))
    played.api_key = _new_key(owner)
    return played


def _scenario_of(now: datetime) -> str:
    return f"Demo scenario of {now.date().isoformat()}, told by {_version()}"


@cache
def _version() -> str:
    """Return a word for the code as it is: what an earlier one stored and judged may not be what this one would."""
    told = sha256()
    for path in sorted(one for app in ("coaching", "programs", "logs") for one in (ROOT / app).rglob("*.py")):
        told.update(path.read_bytes())
    return told.hexdigest()[:12]


def _new_key(owner: Caller) -> str:
    key = {"name": "Floor app", "scopes": ["logs:write", "plans:read"], "source": APP_SOURCE}
    return str(owner.post("/api-keys", key)["key"])


def local_today(profile: ClientProfile, now: datetime) -> date:
    """Return a client's local date; before four in the morning it is still the day before."""
    return (now.astimezone(ZoneInfo(profile.zone)) - DAY_ENDS).date()


def _hire(owner: Caller, played: Played) -> None:
    for coach in COACHES[1:]:
        owner.post(
            "/coaches",
            {
                "name": coach.name,
                "email": coach.email,
                "role": coach.role,
                "time_zone": coach.zone,
                "password": PASSWORD,
            },
        )
    played.coach_ids = {coach["email"]: coach["id"] for coach in owner.all("/coaches")}


def _publish(owner: Caller, now: datetime) -> dict[str, str]:
    documents = version_documents()
    program = owner.post(
        "/programs", {"name": PROGRAM, "notes": _scenario_of(now), "variants": [{"name": name} for name in documents]}
    )
    variants = {variant["name"]: variant["id"] for variant in program["variants"]}
    versions = {}
    for name, content in documents.items():
        draft = owner.post(f"/programs/{program['id']}/versions", {"variant": variants[name], "content": content})
        owner.post(f"/program-versions/{draft['id']}/publish", {})
        versions[name] = draft["id"]
    return versions


def _register(owner: Caller, played: Played, now: datetime) -> None:
    for profile in CLIENTS:
        client = owner.post(
            "/clients",
            {
                "name": profile.name,
                "email": profile.email,
                "coach": played.coach_ids[profile.coach],
                "time_zone": profile.zone,
                "unit": profile.unit,
                "weekdays": list(profile.weekdays),
                "session_min": 50,
            },
        )
        played.client_ids[profile.slug] = client["id"]
        today = local_today(profile, now)
        for lift in REFERENCE_LIFTS:
            owner.post(
                f"/clients/{client['id']}/reference-loads",
                {
                    "exercise": lift,
                    "kind": "tested",
                    "load_kg": tested_maximum_kg(profile, lift),
                    "on_date": starts_on(today).isoformat(),
                },
            )
        if profile.story is Story.HOLIDAY:
            first, last = holiday_of(today)
            owner.post(
                "/absences",
                {
                    "client": client["id"],
                    "starts_on": first.isoformat(),
                    "ends_on": last.isoformat(),
                    "kind": "holiday",
                    "treatment": "pause",
                },
            )


def _assign(owner: Caller, played: Played, versions: dict[str, str], now: datetime) -> None:
    groups: dict[tuple[str, bool], list[ClientProfile]] = {}
    for profile in CLIENTS:
        groups.setdefault((profile.variant, bool(profile.weekdays)), []).append(profile)
    for (variant, fixed), profiles in groups.items():
        answer = owner.post(
            "/assignments",
            {
                "version": versions[variant],
                "calendar": "fixed_days" if fixed else "any_days_in_week",
                "start_date": starts_on(local_today(profiles[0], now)).isoformat(),
                # Twelve weeks are played in a minute: what was missed in them is told as if they had passed.
                "alert_past": True,
                "clients": [
                    {
                        "client": played.client_ids[profile.slug],
                        "start_date": starts_on(local_today(profile, now)).isoformat(),
                        **({"weekdays": list(profile.weekdays)} if fixed else {}),
                    }
                    for profile in profiles
                ],
            },
        )
        refused = [result for result in answer["results"] if result["outcome"] != "assigned"]
        if refused:
            raise DemoError(f"An assignment met a conflict: {refused[0]}")
        played.sessions_assigned += sum(result["session_count"] for result in answer["results"])


def _log(http: httpx.Client, owner: Caller, played: Played, now: datetime) -> None:
    documents = version_documents()
    days = {
        (name, week["week_number"], day["day_number"]): day
        for name, document in documents.items()
        for week in document["weeks"]
        for day in week["days"]
    }
    variant_of = {played.client_ids[profile.slug]: profile.variant for profile in CLIENTS}
    by_client: dict[str, list[PlannedDay]] = {client: [] for client in variant_of}
    for row in owner.all("/planned-sessions"):
        by_client[row["client"]].append(
            PlannedDay(
                id=row["id"],
                week_number=row["week_number"],
                day_number=row["day_number"],
                local_date=date.fromisoformat(row["local_date"]),
                window_start=date.fromisoformat(row["window_start"]),
                planned_high_min=row["planned_high_min"],
                document=days[variant_of[row["client"]], row["week_number"], row["day_number"]],
            )
        )
    for profile in CLIENTS:
        client = played.client_ids[profile.slug]
        planned = sorted(by_client[client], key=lambda day: (day.week_number, day.day_number))
        played.planned[profile.slug] = planned
        played.logs[profile.slug] = simulate_client(profile, client, planned, today=local_today(profile, now))
    played.api_key = _new_key(owner)
    app = Caller(http, played.api_key)
    for batch in _batches(played.logs.values()):
        answer = app.post("/log-batches", batch)
        for outcome, count in answer["summary"].items():
            played.outcomes[outcome] = played.outcomes.get(outcome, 0) + count
        played.cautions += [caution["text"] for caution in answer["cautions"]]


def _batches(logs: Iterable[ClientLogs]) -> Iterator[dict[str, Any]]:
    everyone = list(logs)
    for kind in ("session_logs", "set_logs", "check_ins"):
        items = (item for one in everyone for item in getattr(one, kind))
        while batch := list(islice(items, BATCH_ITEMS)):
            yield {"source": APP_SOURCE, kind: batch}
