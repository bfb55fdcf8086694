"""Whatever stands in a query, of any operation: never a fault of ours, and each refusal a problem document."""

import random
from typing import Final
from urllib.parse import quote

from tests.scenario import Cast
from tests.security.answers import fault_of
from tests.security.conformance import SEED
from tests.security.operations import CALLED, PARAMETERS, attack

HOSTILE: Final = (
    "",
    " ",
    "0",
    "-1",
    "1e308",
    "NaN",
    "Infinity",
    "9" * 400,
    "null",
    "true",
    "[]",
    "{}",
    "a,b,,c",
    ",",
    "\x00",
    "a\x00b",
    "\r\nX-Evil: 1",
    "\u202eevil",
    "\ufeff",
    "\U0001f600",
    "İıſ",
    "é" * 300,
    "a" * 5000,
    "' OR '1'='1",
    "%",
    "_%\\",
    "\\",
    "${7*7}",
    "{{7*7}}",
    "../../etc/passwd",
    "<script>",
    "0001-01-01",
    "9999-12-31",
    "2031-02-30",
    "2031-W10-3",
    "20310310",
    "00000000-0000-0000-0000-000000000000",
    "{01a2}",
    "me",
    "-",
    "+5",
    "٣",
    "1_000",
    "0x10",
    " 5",
    "5 ",
)
"""Values of no type, of the wrong one, too long, or that some interpreter behind us would take for an order."""

RAW: Final = ("%ff%fe", "%ed%a0%80", "%00", "%", "%zz", "a%26b", "&&", "=", "x=1=2")
"""Spelt as no encoder would spell it."""


def _queries(name: str, rng: random.Random) -> list[str]:
    values = rng.sample(HOSTILE, 5)
    return [
        *(f"{name}={quote(value)}" for value in values),
        f"{name}={rng.choice(RAW)}",
        f"{name}=1&{name}=2",
        f"{name}[]={quote(values[0])}",
        f"{name}[{quote(values[1])}]=1",
    ]


def test_every_filter_of_every_operation_stands_hostile_values(cast: Cast, world: dict[str, str]) -> None:
    api, rng, faults, sent = cast.api(cast.owner), random.Random(SEED), {}, 0
    for operation, call in CALLED.items():
        for parameter in PARAMETERS[operation]:
            for query in _queries(parameter, rng):
                sent += 1
                fault = fault_of(attack(api, call, world, query=query))
                if fault is not None:
                    faults[f"{operation}?{query[:200]}"] = fault
    assert sent > 1000
    assert faults == {}


def test_every_operation_refuses_what_it_does_not_know_in_its_query(cast: Cast, world: dict[str, str]) -> None:
    api, taken = cast.api(cast.owner), {}
    for operation, call in CALLED.items():
        answer = attack(api, call, world, query="no_such_parameter=1&constructor=1")
        if answer.status_code != 400 or fault_of(answer):
            taken[operation] = (answer.status_code, answer.content[:200])
    assert taken == {}
