"""Counting the statements of one request."""

from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext


def statements_of(api: Any, path: str) -> int:
    """Return how many statements a GET runs; the answer must be 200."""
    with CaptureQueriesContext(connection) as captured:
        answer = api.get(path)
    assert answer.status_code == 200, answer.content
    return len(captured)
