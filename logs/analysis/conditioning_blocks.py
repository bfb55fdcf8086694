"""Conditioning blocks as planned, and the sets that were logged in them."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, cast

from programs.prescription.vocabulary import ROUND_BLOCK_KINDS, BlockKind


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedSlotOfBlock:
    """A slot of a conditioning block: its key and exercise, and what one round asks of it in words."""

    slot_key: str
    exercise: str
    asked: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedBlock:
    """A conditioning block as planned. Two are the same block only if all of it is equal.

    Attributes:
        template_key: The day's template.
        block_number: Its place in the session, counted from 1.
        label: Its letter.
        kind: Its kind.
        rounds: Rounds asked; None where the kind has none.
        minutes: Minutes of the clock; None where the kind has none.
        work_s: Work of an interval in seconds.
        off_s: Rest of an interval in seconds.
        cap_min: The cap on the time.
        slots: Its slots, in order.
    """

    template_key: str
    block_number: int
    label: str
    kind: BlockKind
    rounds: int | None = None
    minutes: int | None = None
    work_s: int | None = None
    off_s: int | None = None
    cap_min: int | None = None
    slots: tuple[AskedSlotOfBlock, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """A set logged in a conditioning block or on a machine; skipped ones are left out before."""

    exercise: str
    set_number: int
    slot_key: str = ""
    reps: int | None = None
    rounds: Decimal | None = None
    duration_s: Decimal | None = None
    distance_m: Decimal | None = None
    calories_kcal: Decimal | None = None


def asked_blocks(prescribed: Mapping[str, Any]) -> tuple[AskedBlock, ...]:
    """Read a planned session's conditioning blocks: the kinds that a clock or rounds repeat.

    Args:
        prescribed: The planned session's document, as stored.

    Returns:
        The blocks, in order; strength blocks are left out.

    Source: practice.
    """
    return tuple(
        AskedBlock(
            template_key=prescribed.get("template_key", ""),
            block_number=number,
            label=block.get("label", ""),
            kind=cast("BlockKind", block["kind"]),
            rounds=block.get("rounds"),
            minutes=block.get("minutes"),
            work_s=block.get("work_s"),
            off_s=block.get("off_s"),
            cap_min=block.get("cap_min"),
            slots=tuple(
                AskedSlotOfBlock(slot_key=slot["slot_key"], exercise=slot["exercise"], asked=_asked_words(slot))
                for slot in block["slots"]
            ),
        )
        for number, block in enumerate(prescribed.get("blocks") or (), start=1)
        if block.get("kind") in ROUND_BLOCK_KINDS
    )


def _asked_words(slot: Mapping[str, Any]) -> str:
    said = []
    for group in slot["sets"]:
        units = {"reps_low": "", "duration_s": " s", "distance_m": " m", "calories_kcal": " kcal"}
        amount = next((f"{group[name]}{unit}" for name, unit in units.items() if group.get(name) is not None), "")
        said.append(f"{group.get('count', 1)} x {amount}".strip())
    return ", ".join(said)
