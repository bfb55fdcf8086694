"""Faults of a written session: where, which, and what was expected instead. They are answers, never exceptions."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from programs.prescription.names import Candidate
from programs.prescription.vocabulary import Severity


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenFault:
    """One fault at its line and column, both counted from 1.

    An ``error`` was not read as written; a ``warning`` was read otherwise than written; a ``note`` only says how
    something was read. ``candidates`` are the exercises that a doubtful name may mean, likeliest first.
    """

    line: int
    column: int
    code: str
    severity: Severity
    message: str
    candidates: tuple[Candidate, ...] = ()


EXPECTED_SHOWN: Final = 5
"""How many of the things expected are named. Practice."""

_EXPECTED: Final = (
    ("an exercise's name", ("NAME",)),
    ("a number", ("NUMBER",)),
    ("x or sets after the number of sets", ("SETS",)),
    ("a time such as 90s or 1:30", ("TIME",)),
    ("'off' with its time", ("_OFF",)),
    ("'on'", ("_ON",)),
    ("a load such as 80 kg", ("LOAD",)),
    ("a change such as -20%", ("CHANGE",)),
    ("AMRAP", ("AMRAP",)),
    ("a comma", ("COMMA",)),
    ("a tempo such as @ 41X1", ("TEMPO",)),
    ("an effort such as RPE 8 or 2 RIR", ("RPE",)),
    ("a percentage such as 75% TM", ("PERCENT",)),
    ("a rest such as rest 90s", ("REST",)),
    ("a band's name in quotation marks", ("STRING",)),
    ("notes after --", ("NOTE",)),
    ("the end of the line", ("$END",)),
)
"""How what may stand at a place is called, most telling first. Practice."""


def expected_words(terminals: Collection[str]) -> str:
    """Say what may stand where something else stood."""
    said = [words for words, names in _EXPECTED if any(name in terminals for name in names)][:EXPECTED_SHOWN]
    if not said:
        return "the end of the line"
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} or {said[-1]}"
