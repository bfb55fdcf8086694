"""Classes of tempo: loads at unlike tempos are not comparable, so lines and percentages are kept apart by class."""

from typing import Final, Literal

from programs.prescription.constants import PAUSED_S, SLOW_ECCENTRIC_S, SLOW_REPETITION_S
from programs.prescription.tempo import Tempo
from programs.prescription.vocabulary import RestfulEnd

TempoClass = Literal["standard", "slow", "paused", "slow_paused", "assisted", "unspecified"]

TEMPO_FACTOR_CLASSES: Final[tuple[TempoClass, ...]] = ("slow", "paused", "slow_paused")
"""Classes at which a coach may take a reference times a factor; at the others it holds as it is, or not at all.
Practice."""


def tempo_class(tempo: Tempo | None, restful_end: RestfulEnd = "none") -> TempoClass:
    """Put a prescribed tempo in its class (bounds are practice).

    ``slow``: an eccentric of 4 s or more, or a repetition of 8 s or more. ``paused``: a working pause of 2 s or
    more, which is any pause but the one at the exercise's restful end.
    """
    if tempo is None:
        return "unspecified"
    if tempo.assisted:
        return "assisted"
    slow = tempo.eccentric_s >= SLOW_ECCENTRIC_S or tempo.repetition_s() >= SLOW_REPETITION_S
    paused = working_pause_s(tempo, restful_end) >= PAUSED_S
    if slow and paused:
        return "slow_paused"
    if slow:
        return "slow"
    return "paused" if paused else "standard"


def working_pause_s(tempo: Tempo, restful_end: RestfulEnd) -> int:
    """Give the longest pause of a repetition in which the muscle goes on working, in seconds."""
    lengthened_s = 0 if restful_end == "lengthened" else tempo.lengthened_s
    shortened_s = 0 if restful_end == "shortened" else tempo.shortened_s
    return max(lengthened_s, shortened_s)
