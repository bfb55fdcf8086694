"""Long passwords that are guessed first all the same."""

import pytest
from django.core.exceptions import ValidationError

from coaching.password_patterns import PatternsValidator


@pytest.mark.parametrize(
    "password",
    [
        "123456789012",
        "aaaaaaaaaaaaaa",
        "abcabcabcabcabc",
        "abcdefghijklmnop",
        "qwertyuiop1234567",
        "poiuytrewq098765",
        "dragon2031!!!",
        "1990-iloveyou-1990",
        "SUNSHINE20262027",
    ],
)
def test_a_pattern_is_no_strength(password: str) -> None:
    with pytest.raises(ValidationError, match="take several words"):
        PatternsValidator().validate(password)


@pytest.mark.parametrize(
    "password",
    [
        "seven-lanterns-by-the-weir",
        "kettle over granite 7",
        "the first hijack of 1234",
        "dragon lantern 2031",
        "mnbTr4-x9!qLw0z",
    ],
)
def test_words_of_ones_own_are_taken(password: str) -> None:
    PatternsValidator().validate(password)
