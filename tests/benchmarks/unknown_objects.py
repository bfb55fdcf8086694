"""An id of a neighbour against an id of nothing: the time of a 404, or of a refused body, must not tell them apart.

Foreign and random ids alternate, over HTTP, as a coach; each answer of a pair has the same status.
"""

import logging
from collections.abc import Callable
from statistics import median
from time import perf_counter
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.test.utils import override_settings

from coaching.http.rate_policy import RateClass
from coaching.tenancy.scope import business_scope
from programs.models import PlannedSession
from tests.benchmarks.ratios import Ratio
from tests.programs.documents import assign, content, published
from tests.scenario import Cast, build_business

TRIES = 200
WARM_UP = 10
TARGET = 1.10


def measure() -> list[Ratio]:
    """Measure a read of a client, a read of a planned session, and a log of a client."""
    mine, theirs = build_business("Slate Row"), build_business("Cedar Point")
    _give_plan(mine)
    planned = _give_plan(theirs)
    api = mine.api(mine.coach)

    def read(path: str) -> Callable[[str], Any]:
        return lambda named: api.get(f"/api/v1/{path}/{named}")

    def log(named: str) -> Any:
        body = {"external_id": "n1", "client": named, "local_date": "2031-03-13", "duration_min": 30}
        return api.post("/api/v1/session-logs", body, format="json")

    # Of the test client's own host; and one caller asks more here than any may.
    quiet = {"ALLOWED_HOSTS": [*settings.ALLOWED_HOSTS, "testserver"], "RATE_LIMITS": dict.fromkeys(RateClass, 10**7)}
    # Each refusal would be told, more than a thousand in all.
    logging.disable(logging.WARNING)
    try:
        with override_settings(**quiet):
            return [
                _compare("GET /clients/{id}", read("clients"), str(theirs.anna.id)),
                _compare("GET /planned-sessions/{id}", read("planned-sessions"), planned),
                _compare("POST /session-logs with a client's id", log, str(theirs.anna.id)),
            ]
    finally:
        logging.disable(logging.NOTSET)


def _give_plan(cast: Cast) -> str:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=2)), cast.anna.id)
        return str(PlannedSession.objects.filter(client=cast.anna)[0].id)


def _compare(path: str, call: Callable[[str], Any], foreign: str) -> Ratio:
    foreign_s: list[float] = []
    random_s: list[float] = []
    for number in range(WARM_UP + TRIES):
        nothing = str(uuid4())
        # Who is first changes: what a call leaves warm must not favour either.
        order = ((foreign, foreign_s), (nothing, random_s))
        answers = [_timed(call, named, kept) for named, kept in (order if number % 2 else order[::-1])]
        if len(set(answers)) != 1:
            raise AssertionError(f"{path} answers {answers} to a neighbour's id and to one of nothing")
        if number < WARM_UP:
            foreign_s.clear()
            random_s.clear()
    theirs, nobodys = median(foreign_s), median(random_s)
    halves = [_ratio(median(foreign_s[half::2]), median(random_s[half::2])) for half in (0, 1)]
    return Ratio(
        path=f"{path}: a neighbour's id, an id of nothing",
        ours=f"{theirs * 1000:.2f} ms",
        baseline=f"{nobodys * 1000:.2f} ms",
        ratio=_ratio(theirs, nobodys),
        target=TARGET,
        spread=(min(halves), max(halves)),
        at_most=True,
    )


def _timed(call: Callable[[str], Any], named: str, kept: list[float]) -> int:
    started = perf_counter()
    answer = call(named)
    kept.append(perf_counter() - started)
    return int(answer.status_code)


def _ratio(one: float, other: float) -> float:
    return max(one, other) / min(one, other)
