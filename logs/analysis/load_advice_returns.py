"""Coming back after a gap in training: how much less, for how long."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_DOWN, Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from logs.analysis.constants import RPE_TOP
from logs.analysis.references import PRACTICE
from programs.prescription.constants import PERCENT

ReturnKind = Literal["none", "short_gap", "long_gap", "start_as_new", "way_back"]

_SHOWN: Final = Decimal("0.001")
"""Shares on the way back are told to a tenth of a percent. Practice."""

RETURN_SOURCE: Final = (
    f"{PRACTICE}; grounds in the CSCCa and NSCA joint consensus of 2019 on return to training after inactivity"
)
"""Where the return rule comes from. Source: the consensus, from memory; the figures are practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnPolicy:
    """What a business may change about returning after a gap."""

    short_gap_days: int = 14
    """Days without training from which loads are cut. Practice."""
    long_gap_days: int = 28
    """Days over which they are cut further. Practice."""
    new_start_days: int = 84
    """Days over which a client starts as new. Practice."""
    short_cut: Decimal = Decimal("0.10")
    """Share of the load taken off after a short gap. Practice."""
    long_cut: Decimal = Decimal("0.20")
    """Share of the load taken off after a long gap. Practice."""
    short_sets: Fraction = Fraction(2, 3)
    """Share of the sets that is left after a short gap. Practice."""
    long_sets: Fraction = Fraction(1, 2)
    """Share of the sets that is left after a long gap, or at a new start. Practice."""
    short_rpe: Decimal = Decimal(7)
    """Highest RPE after a short gap. Practice."""
    long_rpe: Decimal = Decimal(6)
    """Highest RPE after a long gap, or at a new start. Practice."""
    short_ramp_days: int = 14
    """Days in which loads come back after a short gap. Practice."""
    long_ramp_days: int = 28
    """Days in which loads come back after a long gap. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ramp:
    """A way back from a gap that is over: the last training before it, the first after it, what was cut, the days."""

    before: date
    back_on: date
    cut: Decimal
    days: int
    sets_share: Fraction = Fraction(1)
    rpe_most: Decimal = RPE_TOP

    def cut_left(self, day: date) -> Fraction:
        """Give the share that is still off on a day; it shrinks evenly to 0."""
        return Fraction(self.cut) * (1 - self._gone(day))

    def sets_on(self, day: date) -> Fraction:
        """Give the share of the sets on a day; it grows evenly to all."""
        return self.sets_share + (1 - self.sets_share) * self._gone(day)

    def rpe_on(self, day: date) -> Decimal:
        """Give the highest RPE on a day; it grows evenly to the top of the scale, in halves rounded down."""
        halves = 2 * (Fraction(self.rpe_most) + Fraction(RPE_TOP - self.rpe_most) * self._gone(day))
        return Decimal(halves.numerator // halves.denominator) / 2

    def _gone(self, day: date) -> Fraction:
        return min(Fraction((day - self.back_on).days, self.days), Fraction(1))


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnRule:
    """What a gap asks of a session.

    Attributes:
        kind: which rule holds; `way_back` from the first training after a gap until its days are over.
        gap_days: days since the last training; None when there was none.
        last_trained: that day.
        load_cut: share of the load to take off; None where the load is found anew.
        sets_share: share of the sets that is left.
        rpe_most: highest RPE; None where the plan's holds.
        ramp: the way back that is still being walked; None where none is.
        fresh_since: training before this day says nothing any more; None where all does.
        sentence: the rule in words; empty where none holds.
        cautions: what to ask the client first.
    """

    kind: ReturnKind = "none"
    gap_days: int | None = None
    last_trained: date | None = None
    load_cut: Decimal | None = Decimal(0)
    sets_share: Fraction = Fraction(1)
    rpe_most: Decimal | None = None
    ramp: Ramp | None = None
    fresh_since: date | None = None
    sentence: str = ""
    source: str = RETURN_SOURCE
    cautions: tuple[str, ...] = ()

    @property
    def load_cut_pct(self) -> Decimal | None:
        """The share to take off, as a percentage."""
        return None if self.load_cut is None else self.load_cut * PERCENT

    def sets_left(self, sets: int) -> int:
        """Give how many of so many sets are left: the nearest number, the smaller of two, at least one."""
        left = Fraction(sets) * self.sets_share
        nearest = (Decimal(left.numerator) / left.denominator).quantize(Decimal(1), ROUND_HALF_DOWN)
        return max(int(nearest), min(sets, 1))


def return_rule(
    trained_on: Iterable[date],
    day: date,
    *,
    fever_on: Iterable[date] = (),
    ill_on: Iterable[date] = (),
    policy: ReturnPolicy | None = None,
) -> ReturnRule:
    """Say what a gap in training asks of a session.

    Args:
        trained_on: local dates of sessions, whatever was done in them.
        day: the day on which the session is to be done.
        fever_on: dates on which a fever or an acute infection was reported.
        ill_on: days of absences for illness.
        policy: the bounds.

    Returns:
        The rule. After a fever, until the next training, or over the longest gap: start as new.

    Source: practice, on the grounds of the CSCCa/NSCA 2019 consensus.
    """
    policy = policy or ReturnPolicy()
    dates = sorted({one for one in trained_on if one <= day})
    if not dates:
        return ReturnRule()
    fevers = [one for one in fever_on if one <= day]
    fresh = _fresh_since(dates, fevers, policy)
    gap_days = (day - dates[-1]).days
    ill = any(dates[-1] <= one <= day for one in ill_on)
    rule = _rule(gap_days, dates[-1], policy, fever=any(one >= dates[-1] for one in fevers))
    ramp = _ramp(dates, day, fresh, policy) if rule.kind == "none" else None
    rule = rule if ramp is None else _on_the_way(ramp, day)
    return ReturnRule(
        kind=rule.kind,
        gap_days=gap_days,
        last_trained=dates[-1],
        load_cut=rule.load_cut,
        sets_share=rule.sets_share,
        rpe_most=rule.rpe_most,
        ramp=ramp,
        fresh_since=fresh,
        sentence=rule.sentence,
        cautions=_cautions(rule.kind, ill=ill),
    )


def _rule(gap_days: int, last: date, policy: ReturnPolicy, *, fever: bool) -> ReturnRule:
    said = f"Last trained on {last}, {gap_days} days before"
    if fever or gap_days > policy.new_start_days:
        why = f"A fever or infection was reported since the training of {last}" if fever else said
        return ReturnRule(
            kind="start_as_new",
            load_cut=None,
            sets_share=policy.long_sets,
            rpe_most=policy.long_rpe,
            sentence=f"{why}: start as new, with half the sets and RPE to {policy.long_rpe}; old loads don't hold.",
        )
    if gap_days > policy.long_gap_days:
        return ReturnRule(
            kind="long_gap",
            load_cut=policy.long_cut,
            sets_share=policy.long_sets,
            rpe_most=policy.long_rpe,
            sentence=f"{said}: {_pct(policy.long_cut)} less load, half the sets, RPE to {policy.long_rpe}; "
            f"back over {policy.long_ramp_days} days.",
        )
    if gap_days >= policy.short_gap_days:
        return ReturnRule(
            kind="short_gap",
            load_cut=policy.short_cut,
            sets_share=policy.short_sets,
            rpe_most=policy.short_rpe,
            sentence=f"{said}: {_pct(policy.short_cut)} less load, a third fewer sets, RPE to {policy.short_rpe}; "
            f"back over {policy.short_ramp_days} days.",
        )
    return ReturnRule()


def _on_the_way(ramp: Ramp, day: date) -> ReturnRule:
    left, sets, rpe = ramp.cut_left(day), ramp.sets_on(day), ramp.rpe_on(day)
    off, kept = ((Decimal(one.numerator) / one.denominator).quantize(_SHOWN) for one in (left, sets))
    return ReturnRule(
        kind="way_back",
        load_cut=off,
        sets_share=sets,
        rpe_most=rpe,
        sentence=f"On the way back since {ramp.back_on}, after {(ramp.back_on - ramp.before).days} days off: loads "
        f"{_pct(off)} under those before, {_pct(kept)} of the sets, RPE to {rpe}.",
    )


def _fresh_since(dates: Sequence[date], fevers: Iterable[date], policy: ReturnPolicy) -> date | None:
    starts = [later for earlier, later in pairwise(dates) if (later - earlier).days > policy.new_start_days]
    for fever in fevers:
        after = next((one for one in dates if one > fever), None)
        starts += [] if after is None else [after]
    return max(starts, default=None)


def _ramp(dates: Sequence[date], day: date, fresh: date | None, policy: ReturnPolicy) -> Ramp | None:
    for earlier, later in reversed(list(pairwise(dates))):
        if fresh is not None and later <= fresh:
            return None
        gap_days = (later - earlier).days
        if gap_days < policy.short_gap_days:
            continue
        long = gap_days > policy.long_gap_days
        days = policy.long_ramp_days if long else policy.short_ramp_days
        cut = policy.long_cut if long else policy.short_cut
        over = (day - later).days >= days
        if over:
            return None
        sets, rpe = (policy.long_sets, policy.long_rpe) if long else (policy.short_sets, policy.short_rpe)
        return Ramp(before=earlier, back_on=later, cut=cut, days=days, sets_share=sets, rpe_most=rpe)
    return None


def _cautions(kind: ReturnKind, *, ill: bool) -> tuple[str, ...]:
    if not ill or kind == "start_as_new":
        return ()
    said = "An illness lies between: ask whether there was a fever. After one, start as new"
    return (f"{said}, once a clinician has no objection. This is no medical advice.",)


def _pct(value: Decimal) -> str:
    return f"{(value * PERCENT).normalize():f} %"
