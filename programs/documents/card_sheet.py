"""A card as a PDF: a sheet of paper to write on, or one long page for a phone."""

import os
import subprocess
import sys
from pathlib import Path
from typing import Any, Final, Literal

import orjson

from coaching.refusals import Unprocessable
from programs.documents.card_dates import length_words, pace_words, place_words, state_words, when_words
from programs.documents.card_loads import bar_words
from programs.documents.session_card import CardBlock, CardExercise, CardSet, SessionCard
from programs.documents.timeline_drawing import draw_timeline

SheetPaper = Literal["a4", "letter", "phone"]

TYPESETTING_LIMIT_S: Final = 20.0
"""When a typesetting is ended. Practice: a card takes a fifth of a second."""

_TYPESETTER: Final = Path(__file__).with_name("typesetter.py")
_DRAWING_WIDTHS: Final[dict[SheetPaper, int]] = {"a4": 560, "letter": 560, "phone": 328}
# Lines of text, of which a page holds some fifty.
_KEPT_TOGETHER: Final = 30
_LINE_CHARACTERS: Final = 60
# The loader may need the first; nothing else of the service's environment is the typesetter's business.
_PASSED_ON: Final = ("LD_LIBRARY_PATH", "SYSTEMROOT")


class CardTooLong(Unprocessable):
    """A card that could not be typeset in time."""

    code = "card_too_long"


def card_sheet(card: SessionCard, paper: SheetPaper = "a4", *, limit_s: float = TYPESETTING_LIMIT_S) -> bytes:
    """Typeset a card; the same card always gives the same bytes.

    Args:
        card: the card.
        paper: the page.
        limit_s: after how long typesetting is given up.

    Raises:
        CardTooLong: it took longer than that.
    """
    try:
        done = subprocess.run(  # noqa: S603 -- our own script, and the card goes in as data
            [sys.executable, "-I", str(_TYPESETTER)],
            input=orjson.dumps(sheet_data(card, paper)),
            capture_output=True,
            timeout=limit_s,
            check=True,
            env={name: os.environ[name] for name in _PASSED_ON if name in os.environ},
        )
    except subprocess.TimeoutExpired as error:
        raise CardTooLong(
            "This session is too long to be typeset now; ask for text/html or application/json."
        ) from error
    return done.stdout


def sheet_data(card: SessionCard, paper: SheetPaper) -> dict[str, Any]:
    """Return what the sheet's template is given: only values, every word of them as it is to be shown."""
    drawing = draw_timeline(card.session, card.timeline, width=_DRAWING_WIDTHS[paper])
    return {
        "paper": paper,
        "business": card.business_name,
        "title": card.title,
        "client": card.client_name,
        "when": when_words(card),
        "place": place_words(card),
        "length": length_words(card),
        "pace": pace_words(card),
        "state": state_words(card),
        "footer": " · ".join((_cut(card.client_name, 40), _cut(card.title, 40), when_words(card))),
        "equipment": ", ".join(card.equipment),
        "drawing": {"svg": drawing.svg, "ratio": drawing.height / drawing.width},
        "blocks": [_block(block) for block in card.blocks],
        "held": list(card.held),
        "cautions": [{"heading": group.heading, "signs": list(group.signs)} for group in card.cautions],
        "caution": card.caution,
    }


def _block(block: CardBlock) -> dict[str, Any]:
    return {
        "compact": sum(map(_length, block.exercises)) <= _KEPT_TOGETHER,
        "how": [f"{line}." for line in (block.how, *block.first) if line],
        "exercises": [_exercise(exercise) for exercise in block.exercises],
    }


def _exercise(exercise: CardExercise) -> dict[str, Any]:
    several = len(exercise.tempos) > 1
    return {
        "key": _cut(exercise.slot_key, 20),
        "name": exercise.name,
        "instead_of": exercise.instead_of,
        "added": exercise.added,
        "tempos": [{"written": tempo.written, "performed": tempo.performed} for tempo in exercise.tempos],
        "sets": [_set(line, tempo=line.tempo if several else "") for line in exercise.sets],
        "compact": _length(exercise) <= _KEPT_TOGETHER,
        "notes": exercise.notes,
        "rest": exercise.rest,
    }


def _cut(text: str, characters: int) -> str:
    return text if len(text) <= characters else f"{text[: characters - 1]}…"


def _length(exercise: CardExercise) -> int:
    """Count roughly the lines that an exercise fills: what is too long for a page must be let to break."""
    texts = (exercise.name, *exercise.notes.splitlines(), *(tempo.performed for tempo in exercise.tempos))
    return 2 + 4 * len(exercise.sets) + sum(1 + len(text) // _LINE_CHARACTERS for text in texts)


def _set(line: CardSet, *, tempo: str) -> dict[str, Any]:
    inside = f" ({line.amount.inside})" if line.amount.inside else ""
    said = (line.kind_words, f"{line.amount.unit}{inside}".strip(), line.effort, f"at {tempo}" if tempo else "")
    return {
        "boxes": line.boxes,
        "figure": f"{line.count} × {line.amount.figure}" if line.count else line.amount.figure,  # noqa: RUF001 -- times
        "work": line.counts,
        "said": " · ".join(part for part in said if part),
        "load": line.load.words,
        "small": [*map(bar_words, line.load.plates), *filter(None, (line.load.origin, line.load.suggestion))],
    }
