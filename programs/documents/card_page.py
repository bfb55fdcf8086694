"""A card as a web page that stands alone: its own style, no script, nothing from another host."""

from base64 import b64encode
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final, Literal

from django.template.loader import render_to_string
from django.utils.safestring import mark_safe

from programs.documents.card_dates import length_words, pace_words, place_words, state_words, when_words
from programs.documents.card_loads import bar_words
from programs.documents.session_card import SessionCard
from programs.documents.timeline_drawing import draw_timeline

PagePaper = Literal["a4", "letter"]

_STYLE: Final = Path(__file__).parent.parent / "templates" / "programs" / "card.css"
_DRAWING_WIDTH: Final = 328


@dataclass(frozen=True, slots=True)
class CardPage:
    """A page, and the only content security policy under which it looks as it should."""

    html: str
    policy: str


def card_page(card: SessionCard, paper: PagePaper = "a4") -> CardPage:
    """Write a card as a page for a phone, which also prints.

    Args:
        card: the card.
        paper: the sheet that it prints on.
    """
    style = _style(paper)
    drawing = draw_timeline(card.session, card.timeline, width=_DRAWING_WIDTH)
    blocks = [
        (
            block,
            [
                (exercise, [(line, [bar_words(bar) for bar in line.load.plates]) for line in exercise.sets])
                for exercise in block.exercises
            ],
        )
        for block in card.blocks
    ]
    html = render_to_string(
        "programs/card.html",
        {
            "card": card,
            "blocks": blocks,
            "when": when_words(card),
            "place": place_words(card),
            "length": length_words(card),
            "pace": pace_words(card),
            "state": state_words(card),
            # Both are ours: the style is a file, and the drawing escapes every text that it holds.
            "style": mark_safe(style),  # noqa: S308 -- see above
            "drawing": mark_safe(drawing.svg),  # noqa: S308 -- see above
        },
    )
    return CardPage(html=html, policy=_policy(style))


@cache
def _style(paper: PagePaper) -> str:
    return f"@page{{size:{paper};margin:14mm}}\n{_STYLE.read_text(encoding='utf-8')}"


@cache
def _policy(style: str) -> str:
    digest = b64encode(sha256(style.encode()).digest()).decode()
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
