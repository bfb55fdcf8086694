"""The drawing of a session's timeline."""

from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from programs.documents.timeline_drawing import Drawing, draw_timeline
from programs.prescription.timeline import simulate
from tests.programs.cards.card_cast import card, catalogue, full_session, straight

SVG = "{http://www.w3.org/2000/svg}"


def drawing(*blocks: dict, width: int = 328) -> Drawing:
    made = card(*blocks)
    return draw_timeline(made.session, made.timeline, width=width)


def test_a_bar_stands_for_each_set_and_lighter_sets_are_open() -> None:
    root = ET.fromstring(drawing(full_session()[0]).svg)
    fills = [bar.get("fill") for bar in root.iter(f"{SVG}rect")]
    assert fills == ["none", "none", None, None, None, None]


def test_partners_have_a_lane_each_and_take_turns() -> None:
    root = ET.fromstring(drawing(full_session()[1]).svg)
    bars = [(float(bar.get("x", "")), bar.get("y")) for bar in root.iter(f"{SVG}rect") if bar.get("fill") is None]
    assert bars == sorted(bars)
    lanes = [y for _, y in bars]
    assert len(set(lanes)) == 2
    assert lanes == [lanes[0], lanes[1]] * 4


@pytest.mark.parametrize("width", [328, 560])
def test_everything_stays_inside_the_drawing(width: int) -> None:
    made = drawing(*full_session(), width=width)
    for bar in ET.fromstring(made.svg).iter(f"{SVG}rect"):
        x, y = float(bar.get("x", "")), float(bar.get("y", ""))
        assert 0 <= x <= x + float(bar.get("width", "")) <= width
        assert 0 <= y <= y + float(bar.get("height", "")) <= made.height


def test_a_drawing_has_nothing_but_shapes_and_text() -> None:
    root = ET.fromstring(drawing(*full_session()).svg)
    assert {element.tag.removeprefix(SVG) for element in root.iter()} == {"svg", "path", "text", "rect", "polyline"}
    assert all(not name.startswith(("on", "style", "href")) for element in root.iter() for name in element.attrib)


def test_text_in_a_drawing_is_escaped() -> None:
    made = card(straight({"reps_low": 5}))
    block = made.session.blocks[0]
    # The reader admits no such key; the drawing must not depend on that.
    slot = replace(block.slots[0], slot_key='<"&\x0b')
    session = replace(made.session, blocks=(replace(block, slots=(slot,)),))
    svg = draw_timeline(session, simulate(session, catalogue()), width=328).svg
    assert '<"&' in [text.text for text in ET.fromstring(svg).iter(f"{SVG}text")]


def test_the_drawing_says_what_it_shows_to_those_who_do_not_see_it() -> None:
    root = ET.fromstring(drawing(full_session()[0]).svg)
    assert root.get("role") == "img"
    assert "minutes" in root.get("aria-label", "")
