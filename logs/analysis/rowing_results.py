"""Efforts of distance or calories over time: the split and power of rowing, the pace or rate of other pieces."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from statistics import median
from typing import Final, Literal, get_args

from logs.analysis.conditioning_blocks import Effort
from logs.analysis.conditioning_results import equal_within
from logs.analysis.constants import COMPARED_OCCURRENCES, TOLD_WORK_RATIO
from logs.analysis.rounding import round_half_even_6
from programs.prescription.constants import ROWING_SPLIT_M, S_PER_MIN
from programs.prescription.rowing_pace import power_w

Rate = Literal["power_w", "metres_per_min", "kcal_per_min"]
Missing = Literal["", "seconds_not_logged", "neither_metres_nor_calories"]

_RATES: Final[tuple[Rate, ...]] = get_args(Rate)


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSession:
    """One session's pieces of one exercise, summed.

    Attributes:
        local_date: When.
        deload: It belongs to a planned deload week.
        pieces: How many.
        metres: Metres, as far as given.
        seconds: Seconds of the pieces that have them.
        kilocalories: Kilocalories, as far as given.
        split_s: Rowing: seconds for 500 m over all timed pieces; None for other exercises or without both.
        power_w: Rowing: watts, each timed piece by its own pace, weighted by its seconds; uneven pieces have more power
            than their average pace tells.
        metres_per_min: Pace of timed metres.
        kcal_per_min: Rate of timed kilocalories.
        missing: Why there is neither a pace nor a rate; empty when there is one.
    """

    local_date: date
    deload: bool
    pieces: int
    metres: Decimal
    seconds: Decimal
    kilocalories: Decimal
    split_s: Decimal | None
    power_w: Decimal | None
    metres_per_min: Decimal | None
    kcal_per_min: Decimal | None
    missing: Missing

    def rate(self, measure: Rate) -> Decimal | None:
        """Give one of its rates."""
        rates: dict[Rate, Decimal | None] = {
            "power_w": self.power_w,
            "metres_per_min": self.metres_per_min,
            "kcal_per_min": self.kcal_per_min,
        }
        return rates[measure]


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceComparison:
    """The latest session's pieces against earlier equal ones.

    Attributes:
        measure: `power_w`, `metres_per_min` or `kcal_per_min`; None without a comparison.
        sessions: Sessions compared, the latest among them; 0 without a comparison.
        latest: The latest value.
        earlier: Median of the last three equal earlier ones at most.
        change_ratio: Latest over earlier, less one, to six places.
        sentence: The same in words.
    """

    sentence: str
    measure: Rate | None = None
    sessions: int = 0
    latest: Decimal | None = None
    earlier: Decimal | None = None
    change_ratio: Decimal | None = None


def piece_session(efforts: Sequence[Effort], local_date: date, *, rowing: bool, deload: bool) -> PieceSession:
    """Sum one session's pieces of one exercise.

    Args:
        efforts: Its sets, at least one.
        local_date: When the session was done.
        rowing: Whether it is the rowing machine, whose power follows from its pace.
        deload: Whether it belongs to a planned deload week.

    Source: W = 2.80 / p^3, p in seconds a metre (trade fact, several agreeing pages).
    """
    timed = [(one.distance_m, one.duration_s) for one in efforts if one.distance_m and one.duration_s]
    burnt = [(one.calories_kcal, one.duration_s) for one in efforts if one.calories_kcal and one.duration_s]
    metres = sum((m for m, _ in timed), Decimal(0))
    seconds = sum((s for _, s in timed), Decimal(0))
    has_amount = any(one.distance_m or one.calories_kcal for one in efforts)
    missing: Missing = "" if timed or burnt else "seconds_not_logged" if has_amount else "neither_metres_nor_calories"
    return PieceSession(
        local_date=local_date,
        deload=deload,
        pieces=len(efforts),
        metres=sum((one.distance_m or Decimal(0) for one in efforts), Decimal(0)),
        seconds=sum((one.duration_s or Decimal(0) for one in efforts), Decimal(0)),
        kilocalories=sum((one.calories_kcal or Decimal(0) for one in efforts), Decimal(0)),
        split_s=_ratio(seconds * ROWING_SPLIT_M, metres) if rowing else None,
        power_w=_mean_power_w(timed) if rowing and timed else None,
        metres_per_min=_ratio(metres * S_PER_MIN, seconds),
        kcal_per_min=_ratio(
            sum((kcal for kcal, _ in burnt), Decimal(0)) * S_PER_MIN, sum((s for _, s in burnt), Decimal(0))
        ),
        missing=missing,
    )


def compare_pieces(sessions: Sequence[PieceSession]) -> PieceComparison:
    """Compare the latest session's pieces with earlier ones of as many pieces over the same metres or seconds.

    Args:
        sessions: One exercise's sessions, oldest first, at least one.

    Source: practice.
    """
    latest = sessions[-1]
    if latest.deload:
        return PieceComparison(sentence="The latest was in a deload week and is compared with nothing.")
    measure = next((measure for measure in _RATES if latest.rate(measure)), None)
    now = None if measure is None else latest.rate(measure)
    if measure is None or now is None:
        return PieceComparison(sentence="The latest has no metres or calories with their seconds, so no pace is known.")
    alike = [one for one in sessions[:-1] if not one.deload and _same_piece(latest, one) and one.rate(measure)]
    if not alike:
        return PieceComparison(
            sentence="There is no earlier session of as many pieces over the same distance or time.",
            measure=measure,
            latest=now,
        )
    before = [rate for one in alike[-COMPARED_OCCURRENCES:] if (rate := one.rate(measure)) is not None]
    earlier = round_half_even_6(Fraction(median(map(Fraction, before))))
    change = round_half_even_6(Fraction(now) / Fraction(earlier) - 1)
    return PieceComparison(
        measure=measure,
        sessions=len(before) + 1,
        latest=now,
        earlier=earlier,
        change_ratio=change,
        sentence=_sentence(latest, alike[-COMPARED_OCCURRENCES:], change, len(before) + 1),
    )


def _sentence(latest: PieceSession, alike: Sequence[PieceSession], change: Decimal, compared: int) -> str:
    share = f"{abs(change) * 100:.0f} % {'more' if change > 0 else 'less'}"
    as_before = abs(change) < TOLD_WORK_RATIO
    if latest.split_s is not None and latest.power_w is not None:
        splits = [one.split_s for one in alike if one.split_s is not None]
        before = Decimal(median(splits))
        return (
            f"Same piece, split {split_words(latest.split_s)} against {split_words(before)}, "
            f"{'about as much' if as_before else share} power; "
            f"{compared} sessions compared."
        )
    what = "metres a minute" if latest.metres_per_min else "kilocalories a minute"
    return f"Same piece, {'about as many' if as_before else share} {what}; {compared} sessions compared."


def split_words(split_s: Decimal) -> str:
    """Say a 500 m split as rowers do.

    Args:
        split_s: Seconds for 500 m.

    Returns:
        Minutes and seconds to a tenth, such as 2:04.5.

    Source: trade practice.
    """
    tenths = round(split_s * 10)
    minutes, rest = divmod(tenths, S_PER_MIN * 10)
    return f"{minutes}:{rest // 10:02d}.{rest % 10}"


def _same_piece(latest: PieceSession, earlier: PieceSession) -> bool:
    if latest.pieces != earlier.pieces:
        return False
    return equal_within(latest.metres, earlier.metres) or equal_within(latest.seconds, earlier.seconds)


def _mean_power_w(timed: Sequence[tuple[Decimal, Decimal]]) -> Decimal:
    joules = sum(
        (Fraction(power_w(seconds * ROWING_SPLIT_M / metres)) * Fraction(seconds) for metres, seconds in timed),
        Fraction(0),
    )
    return round_half_even_6(joules / Fraction(sum(seconds for _, seconds in timed)))


def _ratio(amount: Decimal, per: Decimal) -> Decimal | None:
    return round_half_even_6(Fraction(amount) / Fraction(per)) if amount and per else None
