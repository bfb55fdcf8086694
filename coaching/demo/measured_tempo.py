"""Seconds by phase, as a device on the bar would have measured them, for the clients who wear one."""

import random
from typing import Any, Final

from coaching.demo.people import Story

PHASES: Final = ("eccentric", "lengthened", "concentric", "shortened")
RUSHED_BY_WEEK: Final = 0.045
"""What a rushing client cuts off eccentrics and pauses, a week more each week."""


def measured_tempo(story: Story, week_number: int, tempo: str | None, rng: random.Random) -> dict[str, Any]:
    """Return what the device adds to a set: nothing for who wears none, or where no tempo is asked.

    Args:
        story: what is true of the client.
        week_number: the program's week.
        tempo: the compact tempo asked, such as 31X1.
        rng: where chance comes from.
    """
    if tempo is None or story not in {Story.KEEPS_TEMPO, Story.RUSHES_TEMPO}:
        return {}
    rushed = RUSHED_BY_WEEK * week_number if story is Story.RUSHES_TEMPO else 0.0
    return {
        "phase_source": "device",
        "phase_s": {phase: _seconds(phase, asked, rushed, rng) for phase, asked in zip(PHASES, tempo, strict=True)},
    }


def _seconds(phase: str, asked: str, rushed: float, rng: random.Random) -> float:
    if phase == "concentric":
        # As fast as it goes: slower near failure, which is no fault.
        return round(rng.uniform(0.6, 1.9), 1)
    kept = 1 - rushed * rng.uniform(0.4, 1.6)
    return round(int(asked) * max(kept, 0.1) * rng.uniform(0.94, 1.06), 1)
