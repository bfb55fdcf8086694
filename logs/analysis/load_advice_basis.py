"""What a piece of advice rests on, as a short text by which it can be told that something has changed since."""

import hashlib
from typing import Final

from logs.analysis.load_advice_facts import AdvisedSlot
from logs.analysis.load_advice_returns import ReturnRule

_DIGITS: Final = 8
"""Hexadecimal digits of each part. Practice."""

_CHANGED: Final = (
    "its logs changed",
    "what the slot asks for changed",
    "what holds the client for pain changed",
    "the days since the last training, the place or its steps changed",
)
"""What each part stands for, in their order. Practice."""


def advice_basis(slot: AdvisedSlot, returns: ReturnRule) -> str:
    """Give the digests of a slot's logs, of what it asks, of the holds, and of the gap and what can be loaded.

    Args:
        slot: the slot.
        returns: what the gap asks.

    Returns:
        Four digests, joined by hyphens; equal for equal grounds.
    """
    ramp = None if returns.ramp is None else returns.ramp.cut_left(slot.day)
    parts = (
        sorted(one.version or repr(one) for one in slot.exposures),
        (slot.exercise.key, repr(slot.target), slot.tempo_class, slot.deload),
        sorted(map(repr, slot.holds)),
        (returns.kind, ramp, returns.fresh_since, repr(slot.grid), slot.place, slot.novice),
    )
    return "-".join(hashlib.sha256(repr(part).encode()).hexdigest()[:_DIGITS] for part in parts)


def changed_since(before: str, now: str) -> tuple[str, ...]:
    """Say what changed between two grounds, in words; nothing where they are equal.

    Args:
        before: a basis as it was given out.
        now: the basis now.

    Returns:
        What changed; all of it where the first is none that was ever given out.
    """
    if before == now:
        return ()
    old, new = before.split("-"), now.split("-")
    if len(old) != len(new):
        return _CHANGED
    return tuple(words for words, one, other in zip(_CHANGED, old, new, strict=True) if one != other)
