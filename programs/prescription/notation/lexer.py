"""The words of a line: one pass over its plain characters with the terminals of the grammar."""

import re
from collections.abc import Callable, Iterable
from typing import ClassVar, Final

from lark.lexer import TerminalDef

UNKNOWN: Final = "UNKNOWN"
"""The type of a character that no terminal of the grammar takes. Practice."""

_BETWEEN: Final = "_BETWEEN"


class Word:
    """One terminal of the grammar as it stands in a line.

    ``text`` is in plain characters; ``start`` and ``end`` count characters of the line from 0.
    """

    __slots__ = ("end", "start", "text", "type")

    # What the parsing library reads of the last token, to place the end of the input.
    line: ClassVar[int] = 1
    end_line: ClassVar[int] = 1

    def __init__(self, type_: str, text: str, start: int, end: int) -> None:
        self.type = type_
        self.text = text
        self.start = start
        self.end = end

    @property
    def start_pos(self) -> int:
        """Where the word starts, as the parsing library asks it."""
        return self.start

    @property
    def end_pos(self) -> int:
        """Where the word ends, as the parsing library asks it."""
        return self.end

    column = start_pos
    end_column = end_pos


def word_reader(terminals: Iterable[TerminalDef]) -> Callable[[str], list[Word]]:
    """Make the function that takes a plain line apart.

    Where two terminals fit, the one of higher priority is taken, as the grammar's file says. A character that none
    takes is a word of its own, so that every line can be taken apart.
    """
    ordered = sorted(terminals, key=lambda terminal: (-terminal.priority, -terminal.pattern.max_width, terminal.name))
    between = next(terminal for terminal in ordered if terminal.name == _BETWEEN).pattern.to_regexp()
    every = "|".join(
        f"(?P<{terminal.name}>{terminal.pattern.to_regexp()})" for terminal in ordered if terminal.name != _BETWEEN
    )
    # What stands between words goes first and is never given back, as if it were a word of its own.
    match = re.compile(f"(?:{between})?+(?:{every})").match
    skip = re.compile(f"(?:{between})?").match

    def words(line: str) -> list[Word]:
        found: list[Word] = []
        body = line.lstrip()
        indent = len(line) - len(body)
        place, length = 0, len(body)
        while place < length:
            fits = match(body, place)
            if fits is not None:
                kind = fits.lastgroup or UNKNOWN
                start, place = fits.span(kind)
                found.append(Word(kind, body[start:place], start + indent, place + indent))
                continue
            skipped = skip(body, place)
            start = place if skipped is None else skipped.end()
            place = start + 1
            if start < length:
                found.append(Word(UNKNOWN, body[start:place], start + indent, place + indent))
        return found

    return words
