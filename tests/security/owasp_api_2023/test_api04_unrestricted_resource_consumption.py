"""API4:2023. What one request may cost is bounded: body, nesting, items, text, pages, dates, and the work of a text.

Also behind it: `tests/logs/imports/test_tables.py` (archives that unpack too large), `tests/programs/cards/
test_card_sheet.py` (typesetting that takes too long is ended), `tests/architecture/test_query_counts.py` and the
lists' own tests (statements do not grow with rows).
"""

import random
import resource
import subprocess
import sys
from typing import Any, Final

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from programs.api.serializers.parsing import TEXT_MAX_CHARACTERS
from tests.architecture.calls import BODIES
from tests.processes import ROOT
from tests.scenario import Cast
from tests.security.answers import fault_of
from tests.security.operations import CALLED, attack

MIB: Final = 1024 * 1024
CPU_S: Final = 20

TEXTS: Final = {
    "digits": "9",
    "open brackets": "(",
    "nested brackets": "((a)",
    "commas": "a,",
    "spaces": "a ",
    "lines": "a\n",
    "sets": "back squat 3x5 ",
    "almost sets": "3x5x3x5x",
    "almost loads": "80kg80",
    "tempo": "4-1-X-1-",
    "pairs": "A1 A2 ",
    "quotes": '"a" "',
    "half quotes": '"a ',
    "slashes": "3x5/5/5/",
    "percent": "80%",
    "at": "@8@",
    "letters": "aaaa",
    "accents": "e\u0301",
    "dashes": "-\u2013\u2014",
    "dots": "1.1.",
    "rounds": "3 rounds of:\n",
    "every minute": "every minute for 10 min: ",
}


@pytest.mark.parametrize("size", [8 * MIB + 1, 20 * MIB])
def test_a_body_too_large_is_refused_before_it_is_parsed(size: int, cast: Cast) -> None:
    api = cast.api(cast.coach)
    answer = api.post("/api/v1/log-batches", b'{"a":"' + b"x" * (size - 8) + b'"}', content_type="application/json")
    assert answer.status_code == 413
    assert fault_of(answer) is None


def test_more_items_than_a_batch_holds_are_refused_without_a_statement_of_their_own(cast: Cast) -> None:
    api, item = cast.api(cast.coach), {"external_id": "x", "client": str(cast.anna.id), "local_date": "2031-03-04"}
    few, many = ({"check_ins": [{**item, "external_id": f"c{n}"} for n in range(count)]} for count in (1, 5001))
    with CaptureQueriesContext(connection) as captured:
        answer = api.post("/api/v1/log-batches", many, format="json")
    assert answer.status_code == 400, answer.content[:300]
    assert len(captured) < 15
    assert api.post("/api/v1/log-batches", few, format="json").status_code == 200


@pytest.mark.parametrize("depth", [33, 500, 100_000])
@pytest.mark.parametrize(("opened", "closed"), [(b"[", b"]"), (b'{"a":', b"}")])
def test_nesting_ends_at_32_levels(depth: int, opened: bytes, closed: bytes, cast: Cast) -> None:
    body = b'{"name":' + opened * depth + b"1" + closed * depth + b"}"
    answer = cast.api(cast.coach).post("/api/v1/clients", body, content_type="application/json")
    assert (answer.status_code, fault_of(answer)) == (400, None)


def test_every_text_of_every_body_has_an_end(cast: Cast, world: dict[str, str]) -> None:
    """A text of 100,000 characters in each place of each body where there is a text."""
    api, found, tried = cast.api(cast.owner), {}, 0
    for operation in BODIES:
        for place, body in _lengthened(BODIES[operation](world)):
            tried += 1
            answer = attack(api, CALLED[operation], world, body=body)
            refused = answer.status_code >= 400 or b'"outcome":"refused"' in answer.content
            if not refused or fault_of(answer):
                found[f"{operation} {place}"] = (answer.status_code, answer.content[:200])
    assert tried > 100
    assert found == {}


def _lengthened(body: Any, place: str = "#") -> Any:
    """Yield the body with each of its texts in turn made too long."""
    parts = body.items() if isinstance(body, dict) else enumerate(body) if isinstance(body, list) else ()
    for name, value in parts:
        if isinstance(value, str):
            yield f"{place}/{name}", _with(body, name, "w" * 100_000)
        for inner_place, inner in _lengthened(value, f"{place}/{name}"):
            yield inner_place, _with(body, name, inner)


def _with(body: Any, name: Any, value: Any) -> Any:
    changed = dict(body) if isinstance(body, dict) else list(body)
    changed[name] = value
    return changed


def test_no_list_gives_more_than_200_rows_or_none(cast: Cast, world: dict[str, str]) -> None:
    from tests.security.operations import PARAMETERS

    api, paged = cast.api(cast.owner), [name for name, names in PARAMETERS.items() if "limit" in names]
    assert len(paged) >= 20
    for operation in paged:
        for limit in ("0", "-1", "201", "1000000", "9" * 30, "1e3", "50.0", ""):
            assert attack(api, CALLED[operation], world, query=f"limit={limit}").status_code == 400, (operation, limit)


def test_a_span_of_dates_has_an_end(cast: Cast, world: dict[str, str]) -> None:
    """From the first day that there is to the last: a day at a time would be 3.6 million."""
    from tests.security.operations import PARAMETERS

    api, spans = cast.api(cast.owner), [name for name, names in PARAMETERS.items() if {"from", "to"} <= set(names)]
    assert len(spans) >= 4
    for operation in spans:
        with CaptureQueriesContext(connection) as captured:
            answer = attack(api, CALLED[operation], world, query="from=0001-01-01&to=9999-12-31")
        assert fault_of(answer) is None, operation
        assert len(answer.content) < MIB, operation
        assert len(captured) < 40, operation


def test_the_longest_texts_that_are_taken_are_read_within_bounds() -> None:
    """A child that may burn 20 seconds of processor for the whole corpus; an exponential reader would need years.

    Each text stands twice, whole and cut at a place drawn at random, at the greatest length that is admitted.
    """
    rng = random.Random(1)
    texts = [(unit * TEXT_MAX_CHARACTERS)[:TEXT_MAX_CHARACTERS] for unit in TEXTS.values()]
    texts += [text[: rng.randrange(len(text))] + rng.choice('"(/@x') for text in texts]
    code = (
        "import sys, json; from programs.prescription.notation import parse_session\n"
        "for text in json.load(sys.stdin): parse_session(text)\n"
    )
    import json

    done = subprocess.run(
        check=False,
        args=[sys.executable, "-c", code],
        cwd=ROOT,
        input=json.dumps(texts),
        text=True,
        capture_output=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S)),
    )
    assert done.returncode == 0, done.stderr[-1000:]
