"""Findings about a block or a whole session: time available, caps, minutes that overrun, like-muscle pairs."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import combinations
from typing import Final

from programs.prescription.block_barriers import shared_limit_findings
from programs.prescription.constants import S_PER_MIN
from programs.prescription.findings import Finding
from programs.prescription.slot_work import SetGroupWork
from programs.prescription.structure import Block, ExerciseFacts, Session
from programs.prescription.timeline import BlockTime, Timeline

LIKE_MUSCLE_SOURCE: Final = "Iversen et al. 2024 J Strength Cond Res 38:1372-1378 (randomised, 10 weeks)."
"""Ground of the price of pairing like muscles. Source: as named."""

_PRACTICE: Final = "Practice."
"""What stands as the source where there is none. Practice."""


def empty_findings(session: Session, place: str) -> Iterator[Finding]:
    """Refuse a session without blocks, which no document but a structure built by hand can hold."""
    if not session.blocks:
        yield Finding(
            severity="error",
            code="nothing_prescribed",
            message="This session has no blocks.",
            pointer=f"{place}/blocks",
            rule="A session asks for something.",
            source=_PRACTICE,
            suggestion="Add a block, or take the session out.",
            figure=Decimal(0),
            unit="blocks",
        )


def duration_findings(
    session: Session, timeline: Timeline, place: str, minutes_available: int | None
) -> Iterator[Finding]:
    """Hold the session's minutes against the client's, and against the session's own cap."""
    for minutes, code, whose in (
        (minutes_available, "over_minutes", "the client's"),
        (session.cap_min, "over_cap", "the session's cap of"),
    ):
        if minutes is None or timeline.high_s <= minutes * S_PER_MIN:
            continue
        sure = "" if timeline.low_s > minutes * S_PER_MIN else "at the top of its ranges "
        yield Finding(
            severity="warning",
            code=code,
            message=f"The session takes {timeline.high_min} min {sure}against {whose} {minutes} min.",
            pointer=f"{place}/cap_min" if code == "over_cap" else place or "#",
            rule="The simulated session fits the minutes there are.",
            source=_PRACTICE,
            suggestion="Pair straight blocks, take a set from the accessories, or shorten a rest that can bear it.",
            figure=timeline.high_min,
            bound=Decimal(minutes),
            unit="min",
        )


def block_findings(
    block: Block,
    time: BlockTime,
    works: Mapping[str, tuple[SetGroupWork, ...]],
    exercises: Mapping[str, ExerciseFacts],
    place: str,
) -> Iterator[Finding]:
    """Judge one block.

    Args:
        block: the block.
        time: its place in the timeline.
        works: what each slot asks for, by slot_key.
        exercises: facts by exercise key; an exercise that is missing is passed over.
        place: the block's JSON Pointer.
    """
    if block.kind == "every_minute":
        yield from _minute_findings(block, works, place)
    if block.kind == "paired":
        yield from _pair_findings(block, exercises, place)
        yield from shared_limit_findings(block, exercises, place)
    capped = block.cap_min is not None and block.kind != "rounds_for_time"
    if capped and block.cap_min is not None and time.high_s > block.cap_min * S_PER_MIN:
        minutes = Decimal(-(-time.high_s // S_PER_MIN))
        yield Finding(
            severity="warning",
            code="over_cap",
            message=f"The block takes about {minutes} min against its cap of {block.cap_min} min.",
            pointer=f"{place}/cap_min",
            rule="A block fits its own cap.",
            source=_PRACTICE,
            suggestion="Raise the cap, or take out a set or a round.",
            figure=minutes,
            bound=Decimal(block.cap_min),
            unit="min",
        )


def _minute_findings(block: Block, works: Mapping[str, tuple[SetGroupWork, ...]], place: str) -> Iterator[Finding]:
    for index, slot in enumerate(block.slots):
        longest_s = max((work.duration_high_s for work in works[slot.slot_key]), default=0)
        if longest_s > block.interval_s:
            span = "minute" if block.interval_s == S_PER_MIN else f"interval of {block.interval_s} s"
            yield Finding(
                severity="warning",
                code="minute_overrun",
                message=f"{slot.slot_key} takes about {longest_s} s, which does not fit its {span}.",
                pointer=f"{place}/slots/{index}/sets/0",
                rule="The work of an every-minute block ends within the minute, or the interval written for it.",
                source=_PRACTICE,
                suggestion="Take out repetitions, or give the work a longer interval.",
                figure=Decimal(longest_s),
                bound=Decimal(block.interval_s),
                unit="s",
            )


def _pair_findings(block: Block, exercises: Mapping[str, ExerciseFacts], place: str) -> Iterator[Finding]:
    for (_, first), (second_index, second) in combinations(enumerate(block.slots), 2):
        known = exercises.get(first.exercise), exercises.get(second.exercise)
        if known[0] is None or known[1] is None:
            continue
        shared = sorted(set(known[0].primary_muscles) & set(known[1].primary_muscles))
        if shared:
            yield Finding(
                severity="note",
                code="like_muscle_pair",
                message=(
                    f"{first.slot_key} and {second.slot_key} both work {', '.join(shared)}: neither rests while the "
                    "other works. In one trial a pull-down trained in supersets gained 5.2 kg less in 10 weeks than "
                    "in straight sets, and rows 4.8 kg less (not beyond chance); presses gained alike."
                ),
                pointer=f"{place}/slots/{second_index}/exercise",
                rule="Slots of one pairing work unlike muscles.",
                source=LIKE_MUSCLE_SOURCE,
                suggestion="Pair with work for opposing or distant muscles, or rest longer between the two.",
                figure=Decimal(len(shared)),
                bound=Decimal(0),
                unit="shared muscles",
            )
