"""The least change that is told from noise, and the means of several sessions held against it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import sqrt

from coaching.measures.load import LoadUnit
from logs.analysis.constants import AVERAGED_SESSIONS_MOST, PER_CENT, TYPICAL_ERROR_PCT, Z_95
from logs.analysis.lift_lines import LiftSession
from logs.analysis.lift_words import weight


@dataclass(frozen=True, slots=True, kw_only=True)
class AveragedChange:
    """The mean best estimate of the latest sessions against as many before them.

    Attributes:
        sessions: How many on either side; 0 when there are under two each.
        latest_kg: Their mean; None when there are too few.
        before_kg: The mean of those before.
        change_pct: The change, in percent of the mean before, with the bodyweight moved counted in.
        mdc95_pct: The least change of such means that is told from noise, 95 %.
        exceeds_noise: Whether the change, up or down, is larger.
        sentence: All that in words.
    """

    sessions: int
    latest_kg: float | None
    before_kg: float | None
    change_pct: float | None
    mdc95_pct: float | None
    exceeds_noise: bool | None
    sentence: str


def minimal_detectable_change(typical_error: float = TYPICAL_ERROR_PCT, *, z: float = Z_95, sessions: int = 1) -> float:
    """Give the least change between two measurements that is told from their noise.

    Args:
        typical_error: Typical error of one measurement, in any unit; percent by default.
        z: Standard score of the confidence wanted; 1.96 for 95 %.
        sessions: How many sessions are averaged on either side.

    Returns:
        z times the root of two times the typical error, over the root of the sessions, in the error's unit.

    Raises:
        ValueError: Fewer than one session.

    Source: the usual formula (MDC95 = 1.96 root 2 TE), secondary pages; the typical error of Grgic et al. 2020.
    """
    if sessions < 1:
        raise ValueError(f"At least one session is measured, not {sessions}.")
    return z * sqrt(2) * typical_error / sqrt(sessions)


def averaged_change(sessions: Sequence[LiftSession], unit: LoadUnit = "kg") -> AveragedChange:
    """Hold the latest sessions together against as many before them: means are less noisy than single bests.

    Args:
        sessions: The line's sessions, oldest first, deload and absent weeks left out.
        unit: The unit of the words.

    Returns:
        The change of means of up to eight sessions on either side; without figures under four sessions in all.

    Source: as `minimal_detectable_change`; eight sessions at most is practice.
    """
    bests = [one.best for one in sessions if one.best.enters_line]
    count = min(len(bests) // 2, AVERAGED_SESSIONS_MOST)
    latest, before = bests[len(bests) - count :], bests[len(bests) - 2 * count : len(bests) - count]
    bodies = [one.body_kg for one in before if one.body_kg is not None]
    whole = _mean([one.value_kg or Decimal(0) for one in before]) + _mean(bodies) if len(bodies) == count else 0.0
    if count < 2 or whole <= 0:  # noqa: PLR2004 -- one session each is what a record is
        sentence = "Means are compared from 4 sessions with an estimate on, where the load moved is known."
        return AveragedChange(
            sessions=0,
            latest_kg=None,
            before_kg=None,
            change_pct=None,
            mdc95_pct=None,
            exceeds_noise=None,
            sentence=sentence,
        )
    latest_kg, before_kg = (
        _mean([one.value_kg or Decimal(0) for one in latest]),
        _mean([one.value_kg or Decimal(0) for one in before]),
    )
    change_pct = (latest_kg - before_kg) / whole * PER_CENT
    mdc = minimal_detectable_change(sessions=count)
    exceeds = abs(change_pct) > mdc
    return AveragedChange(
        sessions=count,
        latest_kg=latest_kg,
        before_kg=before_kg,
        change_pct=change_pct,
        mdc95_pct=mdc,
        exceeds_noise=exceeds,
        sentence=(
            f"The mean of the latest {count} sessions' best estimates is {weight(_exact(latest_kg), unit)}, "
            f"{change_pct:+.1f} % on the {count} before ({weight(_exact(before_kg), unit)}); means of {count} are told "
            f"from noise from {mdc:.1f} % on, so this {'is a change' if exceeds else 'may be noise'}."
        ),
    )


def _mean(values: Sequence[Decimal]) -> float:
    return float(sum(values, Decimal(0)) / len(values)) if values else 0.0


def _exact(value: float) -> Decimal:
    return Decimal(f"{value:.2f}")
