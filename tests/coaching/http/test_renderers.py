"""Answers keep every digit."""

from datetime import UTC, datetime
from decimal import Decimal
from uuid import UUID

import pytest

from coaching.http.exact_json import encode


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (Decimal("80.50"), b"80.5"),
        (Decimal("80.0000"), b"80"),
        (Decimal(100), b"100"),
        (Decimal("1E+3"), b"1000"),
        (Decimal("-0.0"), b"0"),
        (Decimal("102.0582825"), b"102.0582825"),
        (Decimal("0.12345678901234567890123"), b"0.12345678901234567890123"),
        (datetime(2031, 3, 4, 6, 2, tzinfo=UTC), b'"2031-03-04T06:02:00+00:00"'),
        (UUID(int=1), b'"00000000-0000-0000-0000-000000000001"'),
        (frozenset({"b", "a"}), b'["a","b"]'),
    ],
)
def test_values_are_written_exactly(value: object, written: bytes) -> None:
    assert encode({"x": value}) == b'{"x":' + written + b"}"
