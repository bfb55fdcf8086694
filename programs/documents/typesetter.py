"""Typesets one card: its data as JSON on standard input, the PDF on standard output.

Run as a script in a process of its own, so that the caller can end it; it reads nothing but the template beside it.
"""

import sys
from pathlib import Path

import typst

_TEMPLATE = Path(__file__).with_name("session_card.typ")


def typeset(data: str) -> bytes:
    """Typeset a card.

    Args:
        data: the card as JSON. The template reads it as values: nothing in it is ever markup.
    """
    return typst.compile(
        _TEMPLATE,
        root=_TEMPLATE.parent,
        format="pdf",
        font_paths=[],
        ignore_system_fonts=True,
        sys_inputs={"card": data},
    )


if __name__ == "__main__":
    sys.stdout.buffer.write(typeset(sys.stdin.buffer.read().decode()))
