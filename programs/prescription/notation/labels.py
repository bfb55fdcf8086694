"""The labels of lines: A1 and A2 are a pair, B a block of its own."""

from dataclasses import dataclass
from typing import Final
from unicodedata import normalize

from programs.prescription.notation.lexer import Word
from programs.prescription.notation.quoting import unescaped

_BULLETS: Final = frozenset("-*\u2022")
_SIMPLE_LETTERS_MAX: Final = 2
_SIMPLE_DIGITS_MAX: Final = 2
_BRACKETED_TEXT: Final = '["'


@dataclass(frozen=True, slots=True)
class Label:
    """What stands before a line: a bullet, a label, or both. ``text`` is None without a label."""

    bullet: bool
    text: str | None


def read_label(written: str, word: Word) -> Label:
    """Read what stands before a line.

    Args:
        written: the characters as written.
        word: the same in plain characters.
    """
    bullet = word.text[0] in _BULLETS
    start = 1 if bullet else 0
    said, plain_said = written[start:].strip(), word.text[start:].strip()
    if not said:
        return Label(bullet=bullet, text=None)
    if plain_said.startswith(_BRACKETED_TEXT):
        return Label(bullet=bullet, text=unescaped(said[len(_BRACKETED_TEXT) : -len('"]')]))
    if plain_said.startswith("["):
        return Label(bullet=bullet, text=said[1:-1])
    # The mark after a label has been read in plain characters, which are as many as those written.
    marks = len(plain_said) - len(plain_said.rstrip(".):- "))
    # Full-width letters and digits are labels like any other.
    return Label(bullet=bullet, text=normalize("NFKC", said[: len(said) - marks]))


def label_prefix(key: str) -> str:
    """Give the part of a label that its pair shares: A of A1, 1 of 1a; empty if it is not such a label."""
    if not is_simple_label(key):
        return ""
    if key[0].isalpha():
        return key.rstrip("0123456789") if key[-1].isdigit() else key[: _letters(key)]
    return key.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ")


def is_simple_label(text: str) -> bool:
    """Say whether a label is read as one when only a point follows it: A, A1, AB12, A1b, 1, 12a."""
    if not text.isascii() or not text.isalnum():
        return False
    letters = _letters(text)
    digits = len(text) - letters - len(text[letters:].lstrip("0123456789"))
    tail = text[letters + digits :]
    fits = letters <= _SIMPLE_LETTERS_MAX and digits <= _SIMPLE_DIGITS_MAX and letters + digits > 0
    return fits and (not tail or (len(tail) == 1 and digits > 0))


def _letters(text: str) -> int:
    return len(text) - len(text.lstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"))
