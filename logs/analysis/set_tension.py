"""Time under tension of a week's sets: as the tempo asks, and, kept apart, as it was measured.

A set with a known tempo gives its repetitions times the tempo's seconds, X and A as 1 s each; both sides of a
one-sided set that was logged as one row count. A hold gives its seconds. Other timed pieces (a row, a carry) are work,
but no time under tension.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from logs.analysis.facts import SetFact
from logs.analysis.performed_sets import count_sets, repetitions_of
from logs.analysis.rounding import round_half_even_6
from programs.prescription.tempo import Tempo


@dataclass(frozen=True, slots=True, kw_only=True)
class TensionSums:
    """A week's time under tension.

    Attributes:
        tension_s: Seconds by the tempos asked, and of holds.
        working_s: The same without pauses at the restful end and without assisted concentrics.
        unknown_tension_sets: Sets of which neither a tempo nor a time is known.
        measured_tension_s: Seconds measured, of the sets whose phases a device or video measured.
        measured_sets: How many those are.
    """

    tension_s: Decimal
    working_s: Decimal
    unknown_tension_sets: int
    measured_tension_s: Decimal
    measured_sets: int


def tension_sums(sets: Iterable[SetFact]) -> TensionSums:
    """Sum time under tension.

    Args:
        sets: Counted sets.

    Returns:
        The sums, the measured one rounded half-even to six places; sets that are not known are in none and counted
        beside.

    Source: time under tension as repetitions times the four phases, Wilk et al. 2018 J Hum Kinet; X as 1 s practice.
    """
    listed = list(sets)
    measured = [(one, seconds) for one in listed if (seconds := measured_tension_s(one)) is not None]
    return TensionSums(
        tension_s=sum((tension_s(one) or Decimal(0) for one in listed), Decimal(0)),
        working_s=sum((working_s(one) or Decimal(0) for one in listed), Decimal(0)),
        unknown_tension_sets=count_sets(one for one in listed if work_s(one) is None),
        measured_tension_s=round_half_even_6(sum((seconds for _one, seconds in measured), Decimal(0))),
        measured_sets=count_sets(one for one, _seconds in measured),
    )


def density_s_per_min(sets: Iterable[SetFact], minutes: dict[str, Decimal]) -> Decimal | None:
    """Say how dense the work was.

    Args:
        sets: Counted sets.
        minutes: Minutes of the sessions of which they are known.

    Returns:
        Seconds of time under tension and of other timed work for each minute of those sessions, rounded half-even to
        six places; None without such minutes or without any set of known time in them. Sets of unknown tempo are not
        in it, so it is a lower bound where there are any.

    Source: practice.
    """
    known = [seconds for one in sets if one.session_id in minutes and (seconds := work_s(one)) is not None]
    whole = sum(minutes.values(), Decimal(0))
    if not known or not whole:
        return None
    return round_half_even_6(Fraction(sum(known, Decimal(0))) / Fraction(whole))


def tension_s(one: SetFact) -> Decimal | None:
    """Give a set's time under tension as asked.

    Args:
        one: A set.

    Returns:
        Seconds; None when they are not known.

    Source: practice.
    """
    tempo = one.tempo_asked
    return _held_s(one) if tempo is None else _times(one, tempo.repetition_s(), _held_s(one))


def working_s(one: SetFact) -> Decimal | None:
    """Give the seconds of a set in which the muscle works.

    Args:
        one: A set.

    Returns:
        Time under tension less the pause at the restful end and an assisted concentric; None when not known.

    Source: practice.
    """
    tempo = one.tempo_asked
    if tempo is None:
        return _held_s(one)
    return _times(one, tempo.working_s(one.exercise.restful_end), _held_s(one))


def work_s(one: SetFact) -> Decimal | None:
    """Give the seconds of a set that count as work.

    Args:
        one: A set.

    Returns:
        Time under tension as asked; else, without repetitions, the set's own seconds; None when neither is known.

    Source: practice.
    """
    under_tension = tension_s(one)
    if under_tension is not None:
        return under_tension
    return one.duration_s if repetitions_of(one) is None else None


def measured_tension_s(one: SetFact) -> Decimal | None:
    """Give a set's time under tension as measured.

    Args:
        one: A set.

    Returns:
        Repetitions times the seconds measured of each; None unless eccentric, concentric and every pause were
        measured, but for a pause that the tempo does not ask for.

    Source: practice.
    """
    reps, each_s = repetitions_of(one), _measured_repetition_s(one, one.tempo_asked)
    return None if reps is None or each_s is None else each_s * reps * _sides(one)


def _times(one: SetFact, each_s: int, otherwise: Decimal | None) -> Decimal | None:
    reps = repetitions_of(one)
    return otherwise if reps is None else Decimal(reps * each_s * _sides(one))


def _sides(one: SetFact) -> int:
    return one.asked.sides if one.asked is not None and one.side == "both" else 1


def _held_s(one: SetFact) -> Decimal | None:
    return one.duration_s if one.exercise.measure == "seconds" else None


def _measured_repetition_s(one: SetFact, tempo: Tempo | None) -> Decimal | None:
    eccentric_s, concentric_s = one.phase_s.get("eccentric"), one.phase_s.get("concentric")
    lengthened_s, shortened_s = one.phase_s.get("lengthened"), one.phase_s.get("shortened")
    if tempo is not None:
        lengthened_s = Decimal(0) if lengthened_s is None and not tempo.lengthened_s else lengthened_s
        shortened_s = Decimal(0) if shortened_s is None and not tempo.shortened_s else shortened_s
    if eccentric_s is None or lengthened_s is None or concentric_s is None or shortened_s is None:
        return None
    return eccentric_s + lengthened_s + concentric_s + shortened_s
