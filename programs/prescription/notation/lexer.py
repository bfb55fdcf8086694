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
    every = "|".join(f"(?P<{terminal.name}>{terminal.pattern.to_regexp()})" for terminal in ordered)
    match = re.compile(every).match

    def words(line: str) -> list[Word]:
        found: list[Word] = []
        body = line.lstrip()
        indent = len(line) - len(body)
        place = 0
        while place < len(body):
            fits = match(body, place)
            end = place + 1 if fits is None else fits.end()
            kind = UNKNOWN if fits is None else fits.lastgroup or UNKNOWN
            if kind != _BETWEEN:
                found.append(Word(kind, body[place:end], place + indent, end + indent))
            place = end
        return found

    return words
