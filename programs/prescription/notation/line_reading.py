"""From one line to its tree by the grammar. What does not fit is left out, and said; the rest is still read."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Final

from programs.prescription.notation.faults import expected_words
from programs.prescription.notation.lexer import Word, word_reader
from programs.prescription.notation.line_grammar import LineReading, LineTree, MisfitError, lark_grammar

CUTS_MAX: Final = 4
"""How often what does not fit is cut out of a line before the line is given up. Practice."""

SHOWN_CHARACTERS: Final = 24
"""How much of the text that does not fit is repeated in a sentence. Practice."""

_SEPARATORS: Final = frozenset({"COMMA", "SEMICOLON", "NOTE"})
_NAMES: Final = frozenset({"NAME", "STRING", "EXACT"})
_CONTINUES: Final = frozenset(
    {
        "X",
        "SETS",
        "BY",
        "DASH",
        "SLASH",
        "_JOIN",
        "LIMIT",
        "PLUS_DROP",
        "_ON",
        "AS_REST",
        "IN_RESERVE",
        "INSIDE",
        "ROUNDS",
        "RFT",
        "FOR_TIME",
        "BETWEEN_ROUNDS",
        "E_MOM",
        "EVERY",
    }
)
_OF_SETS: Final = frozenset({"X", "SETS", "KIND", "AMRAP", "LAST_SET"})


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A place that does not fit: its column, counted from 0, and a sentence with what was expected."""

    start: int
    message: str


@dataclass(frozen=True, slots=True)
class _Misfit:
    """The first word that does not fit (the number of words, if the line ends too early), and what would have."""

    place: int
    expected: frozenset[str]


@cache
def _words() -> Callable[[str], list[Word]]:
    return word_reader(lark_grammar().terminals)


def words_of(line: str) -> list[Word]:
    """Take a plain line apart into the grammar's terminals."""
    return _words()(line)


def read_line(line: str, written: str) -> tuple[LineTree | None, list[Unreadable]]:
    """Read a line by the grammar.

    Args:
        line: the line in plain characters.
        written: the same as written, of which faults speak.

    Returns:
        The line's tree, or None where nothing in it could be read; and every place that did not fit. What stands
        between the last that was complete and the next comma is left out of the tree.
    """
    words = words_of(line)
    faults: list[Unreadable] = []
    for _ in range(CUTS_MAX):
        if not words:
            return None, faults
        tree = _fits(words)
        if not isinstance(tree, _Misfit):
            return tree, faults
        faults.append(_unreadable(words, tree, written))
        words = _without(words, tree.place)
    named = _fits([word for word in words if word.type == "LEAD" or word.type in _NAMES][:2] or words)
    return (None if isinstance(named, _Misfit) else named), faults


def _fits(words: list[Word]) -> LineTree | _Misfit:
    reading = LineReading()
    place = 0
    try:
        for word in words:
            reading.feed(word)
            place += 1
        return reading.tree()
    except MisfitError as error:
        return _Misfit(place, error.expected)


def _unreadable(words: list[Word], misfit: _Misfit, written: str) -> Unreadable:
    expected = expected_words(misfit.expected)
    if misfit.place == len(words):
        return Unreadable(words[-1].end, f"The line ends too early; expected {expected}.")
    start = words[misfit.place].start
    found = written[start : start + SHOWN_CHARACTERS].split(",", maxsplit=1)[0].strip() or written[start : start + 1]
    return Unreadable(start, f"Found {found!r}; expected {expected}.")


def _without(words: list[Word], place: int) -> list[Word]:
    """Cut out what does not fit, but keep the exercise's name; at least one word goes, or becomes a mark of the cut."""
    first = _last_complete(words, place)
    last = place
    while last < len(words) and words[last].type not in _SEPARATORS:
        last += 1
    lost = words[first:last]
    named = any(word.type in _NAMES for word in words[:first])
    kept = [word for word in lost if word.type in _NAMES][: 0 if named or len(lost) == 1 else 1]
    if any(word.type in _OF_SETS for word in lost):
        kept.append(Word("CUT", "", lost[0].start, lost[0].start))
    if len(kept) == len(lost):
        kept = []
    if not lost:
        # A separator itself does not fit.
        return [*words[:place], *words[place + 1 :]]
    return [*words[:first], *kept, *words[last:]]


def _last_complete(words: list[Word], place: int) -> int:
    """Give how many words before a place are complete in themselves, so that a comma could follow.

    A number before "x" is not: what follows would have said what it counts.
    """
    reading = LineReading()
    complete = 1 if words[0].type == "LEAD" and place > 0 else 0
    for count, word in enumerate(words[:place], start=1):
        reading.feed(word)
        if "COMMA" in reading.allowed and (count == len(words) or words[count].type not in _CONTINUES):
            complete = count
    return complete
