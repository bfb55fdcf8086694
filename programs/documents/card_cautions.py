"""The stop signs of a card: what ends a session, in plain words. Not a diagnosis."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from coaching.screening.red_flags import RED_FLAGS, URGENCIES, Urgency

_HEADINGS: Final[Mapping[Urgency, str]] = {
    "emergency": "Stop and call your local emergency number",
    "same_day": "Stop and speak to a doctor, midwife or urgent-care line today",
    "stop_and_see": "Stop, and have it looked at before you train again",
}

STANDING_CAUTION: Final = (
    "If a sign does not pass within minutes, or gets worse, call your local emergency number. This list is not a "
    "diagnosis and does not hold every sign. Nobody watches this card or your log in real time."
)
"""Said under the signs on every card."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StopSigns:
    """Signs of one urgency, and what to do about them."""

    urgency: Urgency
    heading: str
    signs: tuple[str, ...]


def stop_signs() -> tuple[StopSigns, ...]:
    """Give every sign on which to stop, most urgent first."""
    return tuple(
        StopSigns(
            urgency=urgency,
            heading=_HEADINGS[urgency],
            signs=tuple(flag.words for flag in RED_FLAGS.values() if flag.urgency == urgency),
        )
        for urgency in URGENCIES
    )
