"""The PDF of a card."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import orjson
import pytest
import typst

from programs.documents import card_sheet as sheets
from programs.documents.card_sheet import CardTooLong, card_sheet, sheet_data
from programs.documents.session_card import SessionCard
from tests.programs.cards.card_cast import card, catalogue, full_session, kilograms, straight

TEMPLATE = Path(sheets.__file__).with_name("session_card.typ")
HOSTILE = (
    '#eval("1 + 1") #panic("x") #read("/etc/passwd") *b* _i_ $x$ `raw` <tag> @ref ]] "q" \\ // שלום 日本 \U0001f600'
)


def page_sizes(pdf: bytes) -> set[tuple[float, ...]]:
    boxes = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)
    return {tuple(round(float(number)) for number in box.split()[2:]) for box in boxes}


def headings(made: SessionCard) -> str:
    """The headings as the typesetter understood them."""
    data = orjson.dumps(sheet_data(made, "a4")).decode()
    return typst.query(TEMPLATE, "heading", sys_inputs={"card": data}, ignore_system_fonts=True)


def words_in(found: Any) -> str:
    if isinstance(found, dict):
        return "".join(words_in(found[name]) for name in ("body", "child", "children", "text") if name in found)
    return "".join(map(words_in, found)) if isinstance(found, list) else str(found)


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_a_sheet_is_of_the_paper_asked_for(paper: Any, size: tuple[int, int]) -> None:
    pdf = card_sheet(card(*full_session()), paper)
    assert pdf.startswith(b"%PDF-")
    assert page_sizes(pdf) == {size}


def test_a_phone_gets_one_narrow_page() -> None:
    pdf = card_sheet(card(*full_session()), "phone")
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1
    ((width, height),) = page_sizes(pdf)
    assert width < 270 < height


def test_what_people_write_is_set_as_it_stands_and_never_run() -> None:
    named = {"back-squat": replace(catalogue()["back-squat"], name=HOSTILE)}
    blocks = full_session()
    blocks[0]["slots"][0]["notes"] = HOSTILE
    made = card(*blocks, exercises=named, title=HOSTILE, client_name=HOSTILE, business_name=HOSTILE)
    said = [words_in(heading) for heading in json.loads(headings(made))]
    assert said[0] == HOSTILE
    assert HOSTILE in said[1]
    assert card_sheet(made).startswith(b"%PDF-")


def test_the_data_of_a_sheet_holds_no_markup_of_ours() -> None:
    made = card(*full_session(), title=HOSTILE)
    assert sheet_data(made, "a4")["title"] == HOSTILE


def test_very_long_names_and_notes_are_set() -> None:
    named = {"back-squat": replace(catalogue()["back-squat"], name="W" * 200)}
    block = straight({"count": 3, "reps_low": 5, "load": kilograms("60")}, notes="n\n" * 900, key="A" * 80)
    pdf = card_sheet(card(block, exercises=named, client_name="W" * 200, title="W" * 120))
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) > 10


def test_the_same_card_gives_the_same_bytes() -> None:
    made = card(straight({"reps_low": 5, "load": kilograms("60")}))
    assert card_sheet(made) == card_sheet(made)


def test_typesetting_that_takes_too_long_is_ended() -> None:
    with pytest.raises(CardTooLong):
        card_sheet(card(*full_session()), limit_s=0.001)
