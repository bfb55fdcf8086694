"""`manage.py power_table`."""

from io import StringIO

import pytest
from django.core.management import call_command


def printed(**options: int) -> list[str]:
    out = StringIO()
    call_command("power_table", stdout=out, **options)
    return out.getvalue().splitlines()


def test_every_cell_is_printed_beside_the_reference_with_its_sampling_error() -> None:
    head, *rows = printed(simulations=400, seed=3)
    cells = [row.split() for row in rows if row.lstrip()[0].isdigit()]
    assert head.split() == ["noise", "weeks", "true", "ours", "reference", "difference", "error"]
    assert [cell[:3] for cell in cells[:3]] == [["2.5%", "8", "+0.0%"], ["2.5%", "8", "+0.5%"], ["2.5%", "8", "+1.0%"]]
    assert len(cells) == 18
    for *_set_up, a, b, c, reference_a, reference_b, reference_c, x, y, z, _e, _f, _g in cells:
        ours, theirs = (float(a), float(b), float(c)), (float(reference_a), float(reference_b), float(reference_c))
        assert [float(x), float(y), float(z)] == pytest.approx(
            [p - q for p, q in zip(ours, theirs, strict=True)], abs=1.1e-3
        )


def test_the_same_seed_prints_the_same_table() -> None:
    assert printed(simulations=50, seed=1) == printed(simulations=50, seed=1) != printed(simulations=50, seed=2)
