"""The timeline of a session as a drawing: one lane for each exercise, and a thread that runs from set to set.

Each block starts at its own zero, all at one scale, so that a set of 40 s can be seen beside an hour. Where the
thread slopes, the client changes exercise and rests on the way. Both readings share one drawing, at the greater
number of repetitions. Text is escaped; there is no script, no style and nothing from outside.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from programs.prescription.constants import S_PER_MIN
from programs.prescription.structure import Block, Session
from programs.prescription.timeline import Event, Timeline

_FONT: Final = "ui-monospace, 'DejaVu Sans Mono', monospace"
_CHARACTER: Final = 0.62
_TEXT: Final = 11
_LANE: Final = 15
_BAR: Final = 9
_HEAD: Final = 16
_GAP: Final = 12
_AXIS: Final = 24
_LEFT: Final = 32
_RIGHT: Final = 10
_LEAST_BAR: Final = 1.6
_TICK_APART: Final = 36
_TICKS_MIN: Final = (1, 2, 5, 10, 15, 30, 60)
_AWAY: Final = frozenset({"rest", "rounds"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """An SVG document, with its size in its own units."""

    svg: str
    width: int
    height: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One block's events, timed from its own start."""

    block: Block
    start_s: int
    seconds: int
    events: tuple[Event, ...]

    @property
    def lane_of(self) -> dict[str, int]:
        return {slot.slot_key: lane for lane, slot in enumerate(self.block.slots)}


def draw_timeline(session: Session, timeline: Timeline, *, width: int) -> Drawing:
    """Draw a session.

    Args:
        session: what is prescribed.
        timeline: the session played through.
        width: of the drawing, in its own units; text is 11 of them high.
    """
    rows = list(_rows(session, timeline))
    scale = (width - _LEFT - _RIGHT) / max([row.seconds for row in rows] or [1])
    ticks = _ticks(max([row.seconds for row in rows] or [1]), scale)
    parts: list[str] = []
    top = 0
    for row in rows:
        parts += _row(row, top, scale, width, ticks)
        top += _HEAD + _LANE * len(row.block.slots) + _GAP
    parts += _axis(top - _GAP, scale, ticks)
    height = top - _GAP + _AXIS
    said = quoteattr(_plain(_description(timeline)))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" aria-label={said} fill="currentColor" font-family="{_FONT}" font-size="{_TEXT}">'
        f"{''.join(parts)}</svg>"
    )
    return Drawing(svg=svg, width=width, height=height)


def _rows(session: Session, timeline: Timeline) -> Iterator[_Row]:
    for index, block in enumerate(session.blocks):
        events = tuple(
            event for event in timeline.events if event.block_index == index and event.kind != "between_blocks"
        )
        if events:
            start_s = events[0].start_high_s
            last = events[-1]
            yield _Row(
                block=block,
                start_s=start_s,
                seconds=max(1, last.start_high_s + last.high_s - start_s),
                events=events,
            )


def _row(row: _Row, top: int, scale: float, width: int, ticks: Sequence[int]) -> Iterator[str]:
    lanes_top = top + _HEAD
    bottom = lanes_top + _LANE * len(row.block.slots)
    for second in ticks:
        x = _LEFT + second * scale
        yield f'<path d="M{x:.1f} {lanes_top}V{bottom}" stroke="currentColor" stroke-width=".6" opacity=".22"/>'
    title = f"from {_clock(row.start_s)}"
    yield f'<text x="{_LEFT}" y="{top + 11}" opacity=".72">{title}</text>'
    yield f'<text x="{width - _RIGHT}" y="{top + 11}" text-anchor="end" opacity=".72">{_clock(row.seconds)}</text>'
    for slot_key, lane in row.lane_of.items():
        y = lanes_top + lane * _LANE + _LANE / 2
        yield f'<text x="0" y="{y + 4:.1f}" font-weight="bold">{escape(_plain(_short(slot_key)))}</text>'
    yield from _thread(row, lanes_top, scale)
    for event in row.events:
        yield from _bar(event, row, lanes_top, scale)


def _thread(row: _Row, lanes_top: int, scale: float) -> Iterator[str]:
    points: list[tuple[float, float]] = []
    for event in row.events:
        lane = row.lane_of.get(event.slot_key or "", 0)
        y = lanes_top + lane * _LANE + _LANE / 2
        start = _LEFT + (event.start_high_s - row.start_s) * scale
        if event.kind == "work":
            points += [(start, y), (start + event.high_s * scale, y)]
    end = _LEFT + row.seconds * scale
    if row.events[-1].kind in _AWAY and points:
        points.append((end, points[-1][1]))
    if points:
        line = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        yield f'<polyline points="{line}" fill="none" stroke="currentColor" stroke-width="1" opacity=".55"/>'


def _bar(event: Event, row: _Row, lanes_top: int, scale: float) -> Iterator[str]:
    if event.kind not in ("work", "ramp", "entry"):
        return
    lane = row.lane_of.get(event.slot_key or "", 0)
    x = _LEFT + (event.start_high_s - row.start_s) * scale
    y = lanes_top + lane * _LANE + (_LANE - _BAR) / 2
    length = max(_LEAST_BAR, event.high_s * scale)
    if event.kind == "work" and event.counts_as_work:
        yield f'<rect x="{x:.1f}" y="{y:.1f}" width="{length:.1f}" height="{_BAR}"/>'
        return
    dashes = ' stroke-dasharray="2 1.5"' if event.kind == "ramp" else ""
    yield (
        f'<rect x="{x + 0.5:.1f}" y="{y + 0.5:.1f}" width="{max(_LEAST_BAR, length - 1):.1f}" height="{_BAR - 1}" '
        f'fill="none" stroke="currentColor"{dashes}/>'
    )


def _axis(top: int, scale: float, ticks: Sequence[int]) -> Iterator[str]:
    for second in ticks:
        x = _LEFT + second * scale
        yield (
            f'<text x="{x:.1f}" y="{top + 12}" text-anchor="middle" opacity=".72" font-size="10">'
            f"{second // S_PER_MIN}</text>"
        )
    yield f'<text x="0" y="{top + 12}" opacity=".72" font-size="10">min</text>'


def _ticks(seconds: int, scale: float) -> list[int]:
    step = next((step for step in _TICKS_MIN if step * S_PER_MIN * scale >= _TICK_APART), _TICKS_MIN[-1]) * S_PER_MIN
    return list(range(0, seconds + 1, step))


def _description(timeline: Timeline) -> str:
    return f"Timeline of the session: {timeline.low_min:f} to {timeline.high_min:f} minutes, a lane for each exercise"


def _short(slot_key: str) -> str:
    most = int((_LEFT - 4) / (_TEXT * _CHARACTER))
    return slot_key if len(slot_key) <= most else f"{slot_key[: most - 1]}…"


def _clock(seconds: int) -> str:
    return f"{seconds // S_PER_MIN}:{seconds % S_PER_MIN:02d}"


def _plain(text: str) -> str:
    """Leave out what XML cannot hold, even escaped."""
    return "".join(character for character in text if character.isprintable())
