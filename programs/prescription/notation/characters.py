"""Characters that mean the same, made one: full-width forms, dashes, quotation marks, spaces, digits.

Each character becomes exactly one character, so that a column in the plain text is the column in the text as written.
"""

from typing import Final

_FULL_WIDTH: Final = range(0xFF01, 0xFF5F)
_FULL_WIDTH_SHIFT: Final = 0xFEE0
_DIGIT_ZEROS: Final = (0x0660, 0x06F0, 0x0966)
_SAME: Final = {
    "-": "\u2010\u2011\u2012\u2013\u2212\ufe58\ufe63",
    "\u2014": "\u2015",
    '"': "\u201c\u201d\u201e\u201f\u2033\u00ab\u00bb",
    "'": "\u2018\u2019\u201a\u201b\u2032\u00b4`",
    "x": "\u00d7\u2715\u2716\u2a2f",
    " ": "\t\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u200b"
    "\u202f\u205f\u3000\ufeff",
    "\u2022": "\u2023\u25e6\u25aa\u25cf\u00b7",
    ",": "\u3001\u060c",
    ".": "\u066b",
    "/": "\u2044\u2215",
}
"""Which characters are read as which. Practice."""


def _table() -> dict[int, str]:
    table = {code: chr(code).lower() for code in range(ord("A"), ord("Z") + 1)}
    table |= {code: chr(code - _FULL_WIDTH_SHIFT).lower() for code in _FULL_WIDTH}
    table |= {zero + digit: str(digit) for zero in _DIGIT_ZEROS for digit in range(10)}
    table |= {ord(written): plain for plain, several in _SAME.items() for written in several}
    return table


_PLAIN: Final = _table()


def plain(text: str) -> str:
    """Give the text in plain characters and small Latin letters, of the same length."""
    return text.lower() if text.isascii() and "\t" not in text and "`" not in text else text.translate(_PLAIN)
