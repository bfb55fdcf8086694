"""The least change that is told from noise: MDC95 = 1.96 root 2 TE.

TE by the median coefficient of variation of 32 studies of one-repetition maximum tests (Grgic et al. 2020 Sports Med
Open 6:31, abstract read); values computed once.
"""

import pytest

from logs.analysis.detectable_changes import minimal_detectable_change


@pytest.mark.parametrize(
    ("typical_error", "z", "sessions", "expected"),
    [
        (4.2, 1.96, 1, 11.64),
        (4.2, 1.645, 1, 9.77),
        (2.0, 1.96, 1, 5.54),
        (4.2, 1.96, 4, 5.82),
        (4.2, 1.96, 8, 4.12),
    ],
)
def test_the_least_change_in_percent(typical_error, z, sessions, expected):
    assert minimal_detectable_change(typical_error, z=z, sessions=sessions) == pytest.approx(expected, abs=0.005)


def test_the_default_is_one_test_at_the_median_error():
    assert minimal_detectable_change() == pytest.approx(11.64, abs=0.005)
    # On 120 kg.
    assert 120 * minimal_detectable_change() / 100 == pytest.approx(13.97, abs=0.005)
