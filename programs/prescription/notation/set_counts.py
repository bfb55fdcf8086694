"""How many sets, and of what kind."""

from typing import Final

from programs.prescription.constants import SET_COUNT_MAX
from programs.prescription.notation import figures
from programs.prescription.notation.amounts import Reading
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.remarks import Remarks
from programs.prescription.vocabulary import SetKind

_KINDS: Final[tuple[tuple[str, SetKind], ...]] = (
    ("warm", "warm_up"),
    ("back", "back_off"),
    ("drop", "drop"),
    ("cluster", "cluster"),
    ("rest", "rest_pause"),
    ("test", "test"),
    ("technique", "technique"),
    ("top", "top"),
    ("to-limit", "to_limit"),
)
"""How the words for a kind of set start. Practice."""


def read_count(words: list[Word], remarks: Remarks) -> int | None:
    """Read the number of sets; one where none is written."""
    counted = next((word for word in words if word.type == "NUMBER"), None)
    if counted is None:
        return 1
    hint = "" if len(counted.text) == 1 else " (a tempo is written @ 41X1)"
    return figures.whole(counted, remarks, least=1, most=SET_COUNT_MAX, what=f"sets{hint}")


def read_kind(words: list[Word], reading: Reading) -> SetKind:
    """Read the kind of the sets, or take the one that their form implies."""
    said = next((word.text for word in words if word.type == "KIND"), None)
    if said is None:
        implied: SetKind = "cluster" if reading.amount.segments else "work"
        return "drop" if reading.drops else implied
    if said.startswith("work") and " to" not in said:
        return "work"
    return next((kind for start, kind in _KINDS if said.startswith(start)), "ramp")
