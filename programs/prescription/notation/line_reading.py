"""From one line to its tree by the grammar. What does not fit is left out, and said; the rest is still read."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final, cast

from lark import Lark, Tree
from lark.exceptions import UnexpectedToken

from programs.prescription.notation.faults import expected_words
from programs.prescription.notation.lexer import Word, word_reader

LineTree = Tree[Word]

CUTS_MAX: Final = 4
"""How often a clause that does not fit is cut out of a line before the line is given up. Practice."""

SHOWN_CHARACTERS: Final = 24
"""How much of the text that does not fit is repeated in a sentence. Practice."""

_SEPARATORS: Final = frozenset({"COMMA", "SEMICOLON", "NOTE"})
_KEPT: Final = frozenset({"LEAD", "NAME", "STRING", "EXACT"})


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A place that does not fit: its column, counted from 0, and a sentence with what was expected."""

    start: int
    message: str


@dataclass(frozen=True, slots=True)
class _Grammar:
    words: Callable[[str], list[Word]]
    lark: Lark


@cache
def _grammar() -> _Grammar:
    text = files(__package__).joinpath("session.lark").read_text(encoding="utf-8")
    lark = Lark(text, parser="lalr", lexer="basic", maybe_placeholders=False)
    return _Grammar(words=word_reader(lark.terminals), lark=lark)


def words_of(line: str) -> list[Word]:
    """Take a plain line apart into the grammar's terminals."""
    return _grammar().words(line)


def read_line(line: str) -> tuple[LineTree | None, list[Unreadable]]:
    """Read a plain line by the grammar.

    Returns:
        The line's tree, or None where nothing in it could be read; and every place that did not fit. The clause
        round such a place, from comma to comma, is left out of the tree.
    """
    words = _grammar().words(line)
    if not words:
        return None, []
    faults: list[Unreadable] = []
    for _ in range(CUTS_MAX):
        tree, fault, place = _fits(words, line)
        if fault is None:
            return tree, faults
        faults.append(fault)
        words = _without_clause(words, place)
        if not words:
            return None, faults
    tree, _, _ = _fits([word for word in words[:place] if word.type in _KEPT][:2], line)
    return tree, faults


def _fits(words: list[Word], line: str) -> tuple[LineTree | None, Unreadable | None, int]:
    parser = _grammar().lark.parse_interactive()
    place = -1
    try:
        for place, word in enumerate(words):  # noqa: B007
            parser.feed_token(word)  # type: ignore[arg-type]
        tree = cast("LineTree", parser.feed_eof())
    except UnexpectedToken as error:
        ended = error.token.type == "$END"
        at = len(words) if ended else place
        start = (words[-1].end if words else 0) if ended else words[place].start
        return None, Unreadable(start, _sentence(line, start, error)), at
    return tree, None, -1


def _sentence(line: str, start: int, error: UnexpectedToken) -> str:
    expected = expected_words(error.expected)
    if error.token.type == "$END":
        return f"The line ends too early; expected {expected}."
    found = line[start : start + SHOWN_CHARACTERS].split(",", maxsplit=1)[0].strip() or line[start : start + 1]
    return f"Found {found!r}; expected {expected}."


def _without_clause(words: list[Word], place: int) -> list[Word]:
    """Leave out the clause round a place, but keep the line's label and the exercise's name."""
    first = place
    while first > 0 and words[first - 1].type not in _SEPARATORS:
        first -= 1
    last = place
    while last < len(words) and words[last].type not in _SEPARATORS:
        last += 1
    named = any(word.type in _KEPT and word.type != "LEAD" for word in words[:first])
    kept: list[Word] = []
    for word in words[first:last]:
        if word.type == "LEAD" or (word.type in _KEPT and not named and word is not words[min(place, len(words) - 1)]):
            kept.append(word)
            named = named or word.type != "LEAD"
    left = [*words[:first], *kept, *words[last:]]
    if len(left) == len(words):
        left = words[:place] if place < len(words) else words[:-1]
    return left
