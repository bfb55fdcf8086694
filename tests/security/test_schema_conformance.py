"""schemathesis over the whole schema, all its checks on: no 500, no status, header or body that is not documented.

CI takes a few cases an operation, always the same; `manage.py security_tests --every-case` (or SCHEMA_CASES=100000 in
the environment) takes every one that schemathesis can name.
"""

import os
import random
from typing import Final

import pytest

from tests.scenario import Cast
from tests.security.conformance import (
    SEED,
    aim,
    covering_cases,
    drawn_cases,
    findings,
    one_connection,
    published_schema,
)

CASES: Final = int(os.environ.get("SCHEMA_CASES", "3"))
DRAWN: Final = 1 if CASES < 100 else 15


@pytest.mark.parametrize("caller", ["coach"])
def test_every_answer_is_one_that_the_schema_documents(caller: str, cast: Cast, world: dict[str, str]) -> None:
    member = getattr(cast, caller)
    cast.api(member)
    headers = {"Authorization": f"Bearer {cast.tokens[member.id]}"}
    rng, found, sent = random.Random(SEED), [], 0
    with one_connection():
        for operation in (result.ok() for result in published_schema().get_all_operations()):
            cases = [*covering_cases(operation, most=CASES, rng=rng), *drawn_cases(operation, examples=DRAWN)]
            sent += len(cases)
            for case in cases:
                found += findings(aim(case, world), headers)
    assert sent > 300
    assert not found, f"{len(found)} findings in {sent} requests:\n" + "\n\n".join(found[:20])
