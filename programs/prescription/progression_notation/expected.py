"""How what may stand in a line of a progression is called."""

from collections.abc import Collection
from typing import Final

EXPECTED_SHOWN: Final = 5
"""How many of the things expected are named. Practice."""

_EXPECTED: Final = (
    ("slots with a colon, such as A1, B2:", ("KEY",)),
    ("a step such as +2.5 kg, +1 rep, +1 set or -5 s rest", ("SIGNED",)),
    ("percentages such as 75, 80, 85 %", ("NUMBER",)),
    ("kg, lb, %, reps, sets or s", ("_KG",)),
    ("seconds, such as s", ("_SECONDS",)),
    ("%", ("_PERCENT",)),
    ("rest, or a part of the tempo such as eccentric", ("PHASE", "_REST")),
    ("double progression", ("_DOUBLE",)),
    ("a wave", ("_WAVE",)),
    ("deload every 4 weeks", ("_DELOAD",)),
    ("every 4 weeks", ("_EVERY",)),
    ("every week", ("_WEEKLY",)),
    ("from week 3", ("_FROM_WEEK",)),
    ("to week 6", ("_TO_WEEK",)),
    ("how far it goes, such as to 8", ("_TO",)),
    ("a colon", ("_COLON",)),
    ("weeks", ("_WEEKS",)),
    ("the end of the line", ("$END",)),
)
"""How what may stand at a place is called, most telling first. Practice."""


def expected_words(terminals: Collection[str]) -> str:
    """Say what may stand where something else stood."""
    said = [words for words, names in _EXPECTED if any(name in terminals for name in names)][:EXPECTED_SHOWN]
    if not said:
        return "the end of the line"
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} or {said[-1]}"
