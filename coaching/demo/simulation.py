"""Twelve weeks of training as a third-party app would have logged them, from a fixed seed.

A client's strength on a lift grows with their story; a set's repetitions in reserve follow from it and
from the load on the bar, so that what the logs say is what is true.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from coaching.demo.measured_tempo import measured_tempo
from coaching.demo.people import ClientProfile, Story
from coaching.demo.programs import DELOAD_WEEKS

SEED: Final = 20260311
WEEKS_LOGGED: Final = 12
LB_PER_KG: Final = 2.20462262

BASE_MAXIMUM_KG: Final = {
    "back-squat": 130.0,
    "bench-press": 95.0,
    "deadlift": 160.0,
    "overhead-press": 58.0,
    "one-arm-dumbbell-row": 40.0,
    "split-squat": 30.0,
    "dumbbell-bench-press": 36.0,
    "dumbbell-romanian-deadlift": 40.0,
    "step-up": 24.0,
    "seated-dumbbell-press": 26.0,
    "goblet-squat": 34.0,
    "get-up": 24.0,
    "kettlebell-swing": 32.0,
    "single-leg-romanian-deadlift": 28.0,
}
"""One-repetition maxima of an invented person of strength 1, in each lift's own load basis."""
GROWTH_PER_WEEK: Final = {Story.IMPROVES: 0.014, Story.STALLS: 0.0}
STEADY_GROWTH_PER_WEEK: Final = 0.004
REFERENCE_LIFTS: Final = ("back-squat", "bench-press", "deadlift")
QUIET_DAYS: Final = 13
HOLIDAY_STARTED_DAYS: Final = 10
HOLIDAY_ENDS_IN_DAYS: Final = 4


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """A planned session as the API lists it, with the day's document."""

    id: str
    week_number: int
    day_number: int
    local_date: date
    window_start: date
    planned_high_min: float
    document: dict[str, Any]


@dataclass(frozen=True, slots=True)
class ClientLogs:
    """What the app posts for one client, and the planned sessions that went undone."""

    session_logs: list[dict[str, Any]]
    set_logs: list[dict[str, Any]]
    check_ins: list[dict[str, Any]]
    undone: list[str]


def starts_on(today: date) -> date:
    """Return the Monday on which the twelve weeks that end yesterday began."""
    yesterday = today - timedelta(days=1)
    return yesterday - timedelta(days=yesterday.weekday(), weeks=WEEKS_LOGGED - 1)


def holiday_of(today: date) -> tuple[date, date]:
    """Return the first and last day of the holiday that some clients are on."""
    return today - timedelta(days=HOLIDAY_STARTED_DAYS), today + timedelta(days=HOLIDAY_ENDS_IN_DAYS)


def tested_maximum_kg(profile: ClientProfile, lift: str) -> float:
    """Return what the client lifted in the test before the program."""
    return round(BASE_MAXIMUM_KG[lift] * profile.strength / 2.5) * 2.5


def simulate_client(profile: ClientProfile, client_id: str, planned: list[PlannedDay], *, today: date) -> ClientLogs:
    """Simulate a client from the first planned day to their yesterday.

    Args:
        profile: who it is.
        client_id: the id that the API gave them.
        planned: their planned sessions, in order.
        today: their local date.
    """
    # Seeded by name, not by order: adding a client changes nobody else's history.
    rng = random.Random(f"{SEED}-{profile.slug}")  # noqa: S311 — a simulation, not a secret
    logs = ClientLogs([], [], [], [])
    due = [(day, on) for day in planned if (on := _performed_on(profile, day)) < today]
    undone = _undone(profile, [on for _day, on in due], today)
    for day, performed_on in due:
        if performed_on in undone:
            logs.undone.append(day.id)
        else:
            jumped = _jumped(profile, performed_on, today)
            session = _session_log(profile, client_id, day, performed_on, rng, jumped=jumped)
            logs.session_logs.append(session)
            logs.set_logs.extend(_set_logs(profile, client_id, day, session["external_id"], rng))
    logs.check_ins.extend(_check_ins(profile, client_id, planned[0].window_start, today, rng))
    return logs


def _performed_on(profile: ClientProfile, day: PlannedDay) -> date:
    if profile.weekdays:
        return day.local_date
    week = random.Random(f"{SEED}-{profile.slug}-{day.week_number}")  # noqa: S311
    return day.window_start + timedelta(days=sorted(week.sample(range(7), 3))[day.day_number - 1])


def _undone(profile: ClientProfile, dates: list[date], today: date) -> set[date]:
    if profile.story is Story.GOES_QUIET:
        return {on for on in dates if on > today - timedelta(days=QUIET_DAYS)}
    if profile.story is Story.HOLIDAY:
        return {on for on in dates if on >= holiday_of(today)[0]}
    if profile.story is Story.MISSES_TWO:
        # Not yesterday's: at some hours its grace is still running.
        settled = [on for on in dates if on < today - timedelta(days=1)]
        return {on for on in dates if on >= settled[-2]}
    # Everybody misses a session now and then; the last four weeks are kept whole, so that only the
    # stories can open a flag.
    rng = random.Random(f"{SEED}-{profile.slug}-missed")  # noqa: S311
    early = [on for on in dates if on < today - timedelta(days=28)]
    return set(rng.sample(early, k=min(1, len(early)))) if profile.story is Story.STEADY else set()


def _jumped(profile: ClientProfile, performed_on: date, today: date) -> bool:
    this_week = today - timedelta(days=today.weekday())
    last_week = this_week - timedelta(days=7)
    return profile.story is Story.LOAD_JUMP and last_week <= performed_on < this_week


def _session_log(
    profile: ClientProfile, client_id: str, day: PlannedDay, on: date, rng: random.Random, *, jumped: bool
) -> dict[str, Any]:
    started = datetime.combine(on, time(17, rng.randrange(0, 50)), tzinfo=ZoneInfo(profile.zone))
    # The jump lies in how hard, not in how long: at 1.2 times the plan no session is too long for it.
    minutes = round(day.planned_high_min * (1.2 if jumped else rng.choice([1.05, 1.1, 1.1, 1.15])))
    effort = 9.5 if jumped else (6.0 if day.week_number in DELOAD_WEEKS else rng.choice([7, 7, 7.5]))
    return {
        "external_id": f"{profile.slug}-w{day.week_number}d{day.day_number}",
        "client": client_id,
        "planned_session": day.id,
        "started_at": started.isoformat(),
        "finished_at": (started + timedelta(minutes=minutes)).isoformat(),
        "session_rpe": effort,
    }


def _set_logs(
    profile: ClientProfile, client_id: str, day: PlannedDay, session: str, rng: random.Random
) -> Iterator[dict[str, Any]]:
    # A device of its own chance: who wears none trains as before.
    device = random.Random(f"{SEED}-{session}-device")  # noqa: S311
    for number, item in enumerate(_sets(profile, day, rng, device), start=1):
        yield {"external_id": f"{session}-{number}", "client": client_id, "session_external_id": session, **item}


def _sets(
    profile: ClientProfile, day: PlannedDay, rng: random.Random, device: random.Random
) -> Iterator[dict[str, Any]]:
    for block in day.document["blocks"]:
        rounds = block.get("rounds") or (4 if block["kind"] == "max_rounds" else 1)
        for slot in block["slots"]:
            number = 0
            for group in slot["sets"]:
                for _ in range(group["count"] * rounds):
                    number += 1
                    yield {
                        "exercise": slot["exercise"],
                        "slot": slot["slot_key"],
                        "set_number": number,
                        "kind": group["kind"],
                        **_performance(profile, day, slot["exercise"], group, rng),
                        **measured_tempo(profile.story, day.week_number, group.get("tempo"), device),
                    }


def _performance(
    profile: ClientProfile, day: PlannedDay, exercise: str, group: dict[str, Any], rng: random.Random
) -> dict[str, Any]:
    if "duration_s" in group:
        return {"duration_s": group["duration_s"]}
    low = group["reps_low"]
    reps = rng.randint(low, group.get("reps_high") or low)
    if exercise not in BASE_MAXIMUM_KG:
        return {"reps": reps, "in_reserve": rng.choice([1, 2, 2, 3])}
    growth = GROWTH_PER_WEEK.get(profile.story, STEADY_GROWTH_PER_WEEK)
    maximum = BASE_MAXIMUM_KG[exercise] * profile.strength * (1 + growth) ** (day.week_number - 1)
    wanted_reserve = 4 if day.week_number in DELOAD_WEEKS else 2
    load_kg = _loadable(profile.unit, maximum / (1 + (reps + wanted_reserve) / 30))
    # What is left in reserve follows from the load that the bar could make.
    reserve = 30 * (maximum / load_kg - 1) - reps + rng.choice([-0.5, 0.0, 0.0, 0.5])
    reserve = min(5.0, max(0.0, round(reserve * 2) / 2))
    if profile.unit == "lb":
        return {"reps": reps, "in_reserve": reserve, "load_lb": round(load_kg * LB_PER_KG)}
    return {"reps": reps, "in_reserve": reserve, "load_kg": load_kg}


def _loadable(unit: str, load_kg: float) -> float:
    if unit == "lb":
        return max(1, round(load_kg * LB_PER_KG / 5)) * 5 / LB_PER_KG
    return max(1, round(load_kg / 2.5)) * 2.5


def _check_ins(
    profile: ClientProfile, client_id: str, first: date, today: date, rng: random.Random
) -> Iterator[dict[str, Any]]:
    last = today - timedelta(days=1)
    if profile.story is Story.GOES_QUIET:
        last = today - timedelta(days=QUIET_DAYS)
    elif profile.story is Story.HOLIDAY:
        last = holiday_of(today)[0] - timedelta(days=1)
    on = last
    while on >= first:
        yield {
            "external_id": f"{profile.slug}-c-{on.isoformat()}",
            "client": client_id,
            "local_date": on.isoformat(),
            # Nobody of these stories is worse than usual for them: a wider spread would now and then say so.
            "sleep": rng.choice([2, 3, 3, 3]),
            "fatigue": rng.choice([2, 3, 3, 3]),
            "stress": rng.choice([2, 2, 3, 3]),
            "soreness": rng.choice([2, 3, 3]),
            **(_complaint(profile.story) if on == last else {}),
        }
        on -= timedelta(days=2)


def _complaint(story: Story) -> dict[str, Any]:
    if story is Story.PAIN_STRONG:
        return {"pains": [_pain("shoulder", "left", 7, "bench-press")]}
    if story is Story.PAIN_MILD:
        return {"pains": [_pain("knee", "right", 4, "step-up")]}
    if story is Story.RED_FLAG:
        return {"symptoms": ["chest_pain"]}
    return {}


def _pain(site: str, side: str, score: int, exercise: str) -> dict[str, Any]:
    return {"site": site, "side": side, "score": score, "exercise": exercise, "when": "during", "onset": "known"}
