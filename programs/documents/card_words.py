"""The words of a card: how much, how hard, how long to rest, how a block is done."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from programs.prescription.constants import S_PER_MIN
from programs.prescription.effort import prescribed_reserve
from programs.prescription.structure import Block, Entry, Segment, SetGroup
from programs.prescription.vocabulary import BlockKind, SetKind

_SECONDS_MAX_S: Final = 120
_RESERVE_TOLD_MAX: Final = 5

KIND_WORDS: Final[Mapping[SetKind, str]] = {
    "warm_up": "warm-up",
    "ramp": "building up",
    "work": "",
    "top": "top set",
    "back_off": "back-off",
    "drop": "drop set",
    "cluster": "cluster",
    "rest_pause": "rest-pause",
    "to_limit": "to the limit",
    "test": "test",
    "technique": "technique",
}
"""What a set is called, where it is not plain work."""

_TAKES_TURNS: Final[frozenset[BlockKind]] = frozenset({"paired", "circuit"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """How much one set is: ``figure`` such as 6–8, ``unit`` such as repetitions each side, ``inside`` for rests."""  # noqa: RUF002 -- the dash that is shown

    figure: str
    unit: str
    inside: str = ""

    def __str__(self) -> str:
        """Give it all in one line."""
        return ", ".join(part for part in (f"{self.figure} {self.unit}".strip(), self.inside) if part)


def plain(value: Decimal) -> str:
    """Write a number without needless zeros."""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def seconds_words(seconds: int) -> str:
    """Say a length of time: ``90 s``, ``2 min 30 s``, ``3 min``."""
    minutes, rest = divmod(seconds, S_PER_MIN)
    if seconds < _SECONDS_MAX_S and rest:
        return f"{seconds} s"
    if not minutes:
        return f"{seconds} s"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def amount(group: SetGroup, *, per_side: bool) -> Amount:
    """Say how much one set is."""
    side = " each side" if per_side else ""
    if group.segments:
        figure = " + ".join("max" if segment.reps is None else str(segment.reps) for segment in group.segments)
        return Amount(figure=figure, unit=f"repetitions{side}", inside=_inside(group.segments))
    if group.reps_low is not None:
        return Amount(figure=_reps(group), unit=f"repetitions{side}")
    more = " or more" if group.to_limit else ""
    if group.duration_s is not None:
        return Amount(figure=seconds_words(group.duration_s) + more, unit=side.strip())
    if group.distance_m is not None:
        return Amount(figure=f"{plain(group.distance_m)} m{more}", unit=side.strip())
    if group.calories_kcal is not None:
        return Amount(figure=f"{group.calories_kcal} kcal{more}", unit=side.strip())
    return Amount(figure="max", unit=f"repetitions{side}") if group.to_limit else Amount(figure="", unit="")


def effort_words(group: SetGroup) -> str:
    """Say how hard a set is: ``RPE 8, about 2 left``; empty where it is not said."""
    if group.to_limit or group.kind == "to_limit":
        return "until you can do no more in good form"
    reserve = prescribed_reserve(group)
    left = "" if reserve is None or not _counts_reps(group) else _left(reserve)
    rpe = "" if group.rpe is None else f"RPE {plain(group.rpe)}"
    return ", ".join(part for part in (rpe, left) if part)


def rest_words(block: Block, index: int, *, rest_s: int | None, assumed: bool) -> str:
    """Say the rest after a set of a block's slot.

    Args:
        block: the block.
        index: the slot's place in it.
        rest_s: the rest, None where the block's own clock gives it.
        assumed: whether the prescription leaves the rest unsaid.
    """
    if rest_s is None:
        return ""
    usual = " or so" if assumed else ""
    if block.kind in _TAKES_TURNS or len(block.slots) > 1:
        following = block.slots[(index + 1) % len(block.slots)].slot_key
        onward = f"back to {following}" if index == len(block.slots) - 1 else f"on to {following}"
        return f"rest {seconds_words(rest_s)}{usual}, then {onward}" if rest_s else f"straight {onward}"
    if block.slots[index].set_count == 1 and block.rounds is None:
        return ""
    return f"rest {seconds_words(rest_s)}{usual} between sets" if rest_s else "no rest between sets"


def block_words(block: Block) -> str:
    """Say how a block is done; empty for sets of a single exercise."""
    cap = f", stopping at {block.cap_min} min" if block.cap_min is not None else ""
    rest_s = block.rest_between_rounds_s
    rest = "" if rest_s is None else f", rest {seconds_words(rest_s)} between rounds"
    said = _form_words(block)
    return f"{said}{rest}{cap}" if said else cap.removeprefix(", ").capitalize()


def _form_words(block: Block) -> str:
    rounds = "1 round" if block.rounds == 1 else f"{block.rounds} rounds"
    match block.kind:
        case "paired":
            said = f"In turn: one set of each, then again from {block.slots[0].slot_key}"
        case "circuit":
            said = "Round after round, one set of each" if block.rounds is None else f"{rounds}, one set of each"
        case "interval":
            off = f", {seconds_words(block.off_s)} off" if block.off_s else ""
            said = f"{rounds}: {seconds_words(block.work_s or 0)} on{off}"
        case "rounds_for_time":
            said = f"{rounds}, as fast as your form stays good"
        case "max_rounds":
            said = f"As many rounds as your form stays good for, in {block.minutes} min"
        case "every_minute":
            said = _every_words(block)
        case "steady":
            said = f"{block.minutes} min at one even effort" if block.minutes else "One even effort"
        case _:
            said = ""
    return said


def entry_words(entry: Entry, name: str) -> str:
    """Say the piece before a block's rounds."""
    if entry.duration_s is not None:
        return f"First: {seconds_words(entry.duration_s)} on {name}"
    if entry.distance_m is not None:
        return f"First: {plain(entry.distance_m)} m on {name}"
    return f"First: {entry.calories_kcal} kcal on {name}"


def performed_count(block: Block, group: SetGroup) -> int | None:
    """Give how often a set is done; None where the block's clock or rounds decide."""
    if block.kind in _TAKES_TURNS and block.rounds is not None:
        return None
    return group.count if block.kind in _TAKES_TURNS or block.kind == "straight" else None


def _reps(group: SetGroup) -> str:
    if group.to_limit:
        return f"{group.reps_low} or more"
    return str(group.reps_low) if group.reps_high in (None, group.reps_low) else f"{group.reps_low}–{group.reps_high}"  # noqa: RUF001 -- a range


def _inside(segments: tuple[Segment, ...]) -> str:
    rests = [segment.rest_before_s for segment in segments[1:]]
    changes = [segment.load_change_pct for segment in segments[1:]]
    said = []
    if any(rests):
        same = len(set(rests)) == 1
        said.append(f"{seconds_words(rests[0])} rest inside" if same else f"rests inside {_listed(rests)}")
    if any(changes):
        said.append("load from the first: " + ", ".join(_change(change) for change in changes))
    return "; ".join(said)


def _listed(rests: list[int]) -> str:
    return ", ".join(seconds_words(rest) for rest in rests)


def _change(change: Decimal | None) -> str:
    if not change:
        return "the same"
    return f"{plain(abs(change))} % {'less' if change < 0 else 'more'}"


def _counts_reps(group: SetGroup) -> bool:
    return group.reps_low is not None or bool(group.segments)


def _left(reserve: Decimal) -> str:
    if reserve > _RESERVE_TOLD_MAX:
        return "easy"
    return f"about {plain(reserve)} left" if reserve else "none left"


def _every_words(block: Block) -> str:
    if block.interval_s == S_PER_MIN:
        return f"A set at the start of every minute, {block.intervals} min"
    times = "once" if block.intervals == 1 else f"{block.intervals} times"
    return f"A set every {seconds_words(block.interval_s)}, {times}"
