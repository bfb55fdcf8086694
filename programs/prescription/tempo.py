"""Tempo: four phases of a repetition, always written eccentric, lengthened, concentric, shortened.

Phases are stored, not positions, and the notation never rotates: ``31X2`` is three seconds of eccentric on a
squat and on a pull-up alike. What differs between exercises is where a repetition starts, which
`Tempo.performing_order` answers.

Source: notation as in Wilk et al. 2018 J Hum Kinet (slashed form) and trade practice.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from programs.prescription.constants import (
    COMPACT_PART_MAX_S,
    EXPLOSIVE_S,
    TEMPO_PART_MAX_S,
    TEMPO_PARTS,
)
from programs.prescription.phase_words import PhaseWords
from programs.prescription.vocabulary import End, Phase, RestfulEnd

ContinuousReading = Literal["continuous", "restful_pause", "no_restful_end"]

_SEPARATORS = "-/."
_PART_NAMES: tuple[Phase, ...] = ("eccentric", "lengthened", "concentric", "shortened")
_CONCENTRIC = _PART_NAMES.index("concentric")
_ORDER_FROM_SHORTENED: tuple[Phase, ...] = ("eccentric", "lengthened", "concentric", "shortened")
_ORDER_FROM_LENGTHENED: tuple[Phase, ...] = ("concentric", "shortened", "eccentric", "lengthened")
_EXAMPLE = "write four parts such as 41X1 or 4-1-X-1"


class TempoError(ValueError):
    """A tempo that cannot be performed as written.

    Attributes:
        found: what stood in the text.
        expected: what should stand there instead.
    """

    code = "tempo"

    def __init__(self, *, found: str, expected: str) -> None:
        """Keep both halves, and join them into the sentence that callers show."""
        super().__init__(f"Tempo: found {found}; expected {expected}.")
        self.found = found
        self.expected = expected


@dataclass(frozen=True, slots=True, kw_only=True)
class Tempo:
    """One repetition's prescribed seconds by phase; 0 asks for no time.

    ``explosive`` (written X: as fast as possible) and ``assisted`` (written A) stand in place of concentric
    seconds, so ``concentric_s`` is 0 with either.

    Raises:
        TempoError: for a part outside 0 to 60 s, or X and A together, or either beside concentric seconds.
    """

    eccentric_s: int
    lengthened_s: int
    concentric_s: int
    shortened_s: int
    explosive: bool = False
    assisted: bool = False

    def __post_init__(self) -> None:
        """Refuse what no text could have said."""
        for name, seconds in zip(_PART_NAMES, self._seconds(), strict=True):
            if not 0 <= seconds <= TEMPO_PART_MAX_S:
                raise TempoError(
                    found=f"{seconds} s on the {name}", expected=f"0 to {TEMPO_PART_MAX_S} s for each part"
                )
        if self.explosive and self.assisted:
            raise TempoError(found="X and A on one concentric", expected="one of them, or seconds")
        if (self.explosive or self.assisted) and self.concentric_s:
            raise TempoError(found=f"a letter and {self.concentric_s} s on the concentric", expected="one of the two")

    def __str__(self) -> str:
        """Give the compact notation, or the dashed one where a part is over 9 s."""
        parts = [str(seconds) for seconds in self._seconds()]
        if self.explosive or self.assisted:
            parts[_CONCENTRIC] = "X" if self.explosive else "A"
        return ("-" if max(self._seconds()) > COMPACT_PART_MAX_S else "").join(parts)

    def _seconds(self) -> tuple[int, int, int, int]:
        return (self.eccentric_s, self.lengthened_s, self.concentric_s, self.shortened_s)

    def phase_s(self, phase: Phase, explosive_s: int = EXPLOSIVE_S) -> int:
        """Give one phase's seconds, with X and A on the concentric counted as ``explosive_s``."""
        if phase == "concentric" and (self.explosive or self.assisted):
            return explosive_s
        return self._seconds()[_PART_NAMES.index(phase)]

    def repetition_s(self, explosive_s: int = EXPLOSIVE_S) -> int:
        """Give the seconds of one repetition.

        Args:
            explosive_s: seconds counted for X and A. 1 is practice; 0 gives the lower bound.
        """
        return sum(self.phase_s(phase, explosive_s) for phase in _PART_NAMES)

    def working_s(self, restful_end: RestfulEnd, explosive_s: int = EXPLOSIVE_S) -> int:
        """Give the seconds of one repetition in which the muscle works.

        The repetition less the pause at the exercise's restful end, and less an assisted concentric.
        """
        resting = 0 if restful_end == "none" else self.phase_s(restful_end)
        helped = explosive_s if self.assisted else 0
        return self.repetition_s(explosive_s) - resting - helped

    def performing_order(self, starts_at: End) -> tuple[Phase, ...]:
        """Give the four phases in the order they happen, from the end where a repetition starts.

        Args:
            starts_at: ``"shortened"`` (squat, bench press) or ``"lengthened"`` (pull-up, deadlift, row).

        Raises:
            ValueError: when ``starts_at`` is neither.
        """
        if starts_at == "shortened":
            return _ORDER_FROM_SHORTENED
        if starts_at == "lengthened":
            return _ORDER_FROM_LENGTHENED
        raise ValueError(f"starts_at is 'shortened' or 'lengthened', not {starts_at!r}.")

    def continuous_reading(self, restful_end: RestfulEnd) -> ContinuousReading:
        """Say whether the tempo asks for a pause where this exercise lets the muscle rest.

        ``continuous`` only suggests a set without rest inside it: the coach says whether that is meant.
        """
        if restful_end == "none":
            return "no_restful_end"
        return "restful_pause" if self.phase_s(restful_end) else "continuous"

    def is_continuous(self, restful_end: RestfulEnd) -> bool:
        """Say whether nobody rests within the set: no pause at the restful end, or no such end at all."""
        return self.continuous_reading(restful_end) != "restful_pause"

    def zero_movements(self) -> tuple[Phase, ...]:
        """Name the moving phases written as 0 s, which nobody performs in no time at all."""
        zero: list[Phase] = []
        if self.eccentric_s == 0:
            zero.append("eccentric")
        if self.concentric_s == 0 and not (self.explosive or self.assisted):
            zero.append("concentric")
        return tuple(zero)


@lru_cache(maxsize=1024)
def parse_tempo(text: str) -> Tempo:
    """Read a tempo as the trade writes it.

    Four characters (``41X1``), or four parts with one separator throughout (``4-1-X-1``, ``4/1/X/1``,
    ``4.1.X.1``), which admits parts over 9 s. Lower case is taken. X and A stand only third.

    Raises:
        TempoError: says what was found and what was expected.
    """
    written = text.strip().upper()
    parts = _parts(written)
    concentric = parts[_CONCENTRIC]
    seconds = [_part_s(part, phase) for part, phase in zip(parts, _PART_NAMES, strict=True)]
    eccentric_s, lengthened_s, concentric_s, shortened_s = seconds
    return Tempo(
        eccentric_s=eccentric_s,
        lengthened_s=lengthened_s,
        concentric_s=concentric_s,
        shortened_s=shortened_s,
        explosive=concentric == "X",
        assisted=concentric == "A",
    )


def performed_words(tempo: Tempo, starts_at: End, words: PhaseWords) -> str:
    """Say a repetition in the exercise's own words, in the order it is performed.

    A pause of 0 s is left out; a movement of 0 s is kept and said to have no time asked.
    """
    said = [
        _phase_said(tempo, phase, words.of(phase))
        for phase in tempo.performing_order(starts_at)
        if phase in ("eccentric", "concentric") or tempo.phase_s(phase)
    ]
    return ", ".join(said)


def _phase_said(tempo: Tempo, phase: Phase, words: str) -> str:
    if phase == "concentric" and tempo.explosive:
        return f"fast {words}"
    if phase == "concentric" and tempo.assisted:
        return f"{words} with help"
    seconds = tempo.phase_s(phase)
    return f"{seconds} s {words}" if seconds else f"{words}, no time asked"


def _parts(written: str) -> list[str]:
    used = sorted({character for character in written if character in _SEPARATORS})
    if len(used) > 1:
        raise TempoError(
            found=f"the separators {' and '.join(used)} in {_quoted(written)}", expected="one separator throughout"
        )
    parts = written.split(used[0]) if used else list(written)
    if len(parts) == TEMPO_PARTS - 1:
        raise TempoError(
            found=f"three parts in {_quoted(written)}, which could leave out either pause",
            expected="four: eccentric, lengthened pause, concentric, shortened pause",
        )
    if len(parts) != TEMPO_PARTS:
        raise TempoError(found=f"{len(parts)} parts in {_quoted(written)}", expected=f"four ({_EXAMPLE})")
    return parts


def _part_s(part: str, phase: Phase) -> int:
    if part in ("X", "A"):
        if phase != "concentric":
            raise TempoError(found=f"{part} on the {phase}", expected="X and A only third, on the concentric")
        return 0
    if not re.fullmatch(r"[0-9]{1,2}", part):
        allowed = "whole seconds, X or A" if phase == "concentric" else "whole seconds"
        raise TempoError(found=f"{_quoted(part)} on the {phase}", expected=f"{allowed} ({_EXAMPLE})")
    return int(part)


def _quoted(text: str) -> str:
    longest_shown = 20
    return repr(text if len(text) <= longest_shown else f"{text[:longest_shown]}…")
