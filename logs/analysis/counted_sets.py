"""What the sets of a week add up to: counts, muscles, tonnage, effort and the values of lifts.

Warm-up, ramp and technique sets and skipped sets count in nothing. A set of each side with one number is one set;
its repetitions and tonnage are those of both sides.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from logs.analysis.constants import (
    BODYWEIGHT_KNOWN_DAYS,
    HANDS,
    HARD_IN_RESERVE,
    PLACE_BOUND_LOADINGS,
    RPE_AT_NO_RESERVE,
    RPE_TOP,
    SECONDARY_SHARE,
)
from logs.analysis.facts import SegmentFact, SetFact, WeighIn
from logs.analysis.rounding import round_half_even_6
from logs.analysis.strength import Formula, TempoClass, estimated_maximum, session_best, weekly_value
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS

_Line = tuple[str, str, TempoClass, str, str]
Bodyweights = Callable[[SetFact], Decimal | None]


@dataclass(frozen=True, slots=True)
class SetCounts:
    """Sets, with both sides of one number as one."""

    work_sets: int
    hard_sets: int
    unknown_effort_sets: int


@dataclass(frozen=True, slots=True)
class MuscleSets:
    """Hard sets of a muscle: as primary only, with secondary as half, and with secondary as whole."""

    direct: Decimal
    fractional: Decimal
    total: Decimal


@dataclass(frozen=True, slots=True)
class LiftValue:
    """A lift line's value of a week, in the exercise's own load basis."""

    exercise: str
    side: str
    machine: str
    place: str
    tempo_class: TempoClass
    value_kg: Decimal
    sessions: int
    formula: Formula


def counted(sets: Iterable[SetFact]) -> tuple[SetFact, ...]:
    """Leave out the sets that count in nothing but time.

    Args:
        sets: Sets performed.

    Returns:
        Those that were not skipped and are no warm-up, ramp or technique sets.

    Source: practice.
    """
    return tuple(one for one in sets if one.kind not in UNCOUNTED_SET_KINDS and one.outcome != "skipped")


def reserve(one: SetFact) -> Decimal | None:
    """Read a set's repetitions in reserve off its effort.

    Args:
        one: A set.

    Returns:
        As entered; or 10 minus the exertion (0 from 9.5 on); or 0 for a set to the limit and a failed set, whose
        effort needs no saying; None when unknown.

    Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275.
    """
    if one.in_reserve is not None:
        return one.in_reserve
    if one.rpe is not None:
        return Decimal(0) if one.rpe >= RPE_AT_NO_RESERVE else RPE_TOP - one.rpe
    return Decimal(0) if one.kind == "to_limit" or one.outcome == "failed" else None


def set_counts(sets: Iterable[SetFact]) -> SetCounts:
    """Count work sets, hard sets and sets of unknown effort.

    Args:
        sets: Counted sets.

    Returns:
        The counts; where one side of a set was hard the set is hard, and unknown only if neither is.

    Source: practice.
    """
    groups = [_group_counts(group) for group in _by_number(sets).values()]
    return SetCounts(*(sum(column) for column in zip(*groups, strict=True))) if groups else SetCounts(0, 0, 0)


def muscle_sets(sets: Iterable[SetFact]) -> dict[str, MuscleSets]:
    """Count hard sets per muscle, in the three published ways.

    Args:
        sets: Counted sets.

    Returns:
        Muscle to its counts, in the order of the alphabet; muscles without a hard set are left out.

    Source: Pelland et al. 2024, preprint (direct, fractional, total).
    """
    direct: defaultdict[str, int] = defaultdict(int)
    secondary: defaultdict[str, int] = defaultdict(int)
    for group in _by_number(sets).values():
        _, hard, _ = _group_counts(group)
        exercise = group[0].exercise
        primary = frozenset(exercise.primary_muscles)
        for muscle in primary:
            direct[muscle] += hard
        for muscle in frozenset(exercise.secondary_muscles) - primary:
            secondary[muscle] += hard
    return {
        muscle: MuscleSets(
            direct=Decimal(direct[muscle]),
            fractional=direct[muscle] + SECONDARY_SHARE * secondary[muscle],
            total=Decimal(direct[muscle] + secondary[muscle]),
        )
        for muscle in sorted({*direct, *secondary})
        if direct[muscle] + secondary[muscle]
    }


def repetitions(sets: Iterable[SetFact]) -> int:
    """Sum the repetitions done, over sides and segments.

    Args:
        sets: Counted sets.

    Returns:
        Repetitions.

    Source: practice.
    """
    return sum(segment.reps for one in sets for segment in _segments(one))


def bodyweight_share_kg(one: SetFact, weigh_ins: Iterable[WeighIn]) -> Decimal | None:
    """Find how much of the body a set moved.

    Args:
        one: A set.
        weigh_ins: Weigh-ins in any order.

    Returns:
        The mean of the latest day's weigh-ins, on the set's date or up to 28 days before, times the exercise's share
        of bodyweight, rounded half-even to six places; 0 for a share of 0; None when no weigh-in is that recent.

    Source: practice.
    """
    if not one.exercise.bodyweight_share:
        return Decimal(0)
    by_day: defaultdict[date, list[Decimal]] = defaultdict(list)
    for weigh_in in weigh_ins:
        age = one.local_date - weigh_in.local_date
        if timedelta(0) <= age <= timedelta(days=BODYWEIGHT_KNOWN_DAYS):
            by_day[weigh_in.local_date].append(weigh_in.bodyweight_kg)
    if not by_day:
        return None
    latest = by_day[max(by_day)]
    mean = sum(map(Fraction, latest), Fraction(0)) / len(latest)
    return round_half_even_6(mean * Fraction(one.exercise.bodyweight_share))


def tonnage_kg(sets: Iterable[SetFact], moved_share: Bodyweights) -> tuple[Decimal, int]:
    """Sum what was moved.

    Args:
        sets: Counted sets.
        moved_share: The bodyweight that a set moved, None when unknown.

    Returns:
        Kilograms times repetitions, exactly: a load given for each hand twice unless one-sided, added load with the
        bodyweight moved (more help than that moves nothing), a stack as labelled; and the number of sets of unknown
        load, which are left out of it.

    Source: practice.
    """
    total = Decimal(0)
    unknown: list[SetFact] = []
    for one in sets:
        moved = [_moved_kg(one, segment, moved_share) for segment in _segments(one) if segment.reps]
        if None in moved:
            unknown.append(one)
        else:
            total += sum((kg for kg in moved if kg is not None), Decimal(0))
    return total, sum(_sets_in(group) for group in _by_number(unknown).values())


def mean_effort(sets: Iterable[SetFact]) -> Decimal | None:
    """Average the exertion that was entered.

    Args:
        sets: Counted sets.

    Returns:
        Mean of exertion, with repetitions in reserve read as 10 minus them, rounded half-even to six places; None
        when none was entered.

    Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275.
    """
    as_rpe = (RPE_TOP - one.in_reserve if one.in_reserve is not None else one.rpe for one in sets)
    entered = [Fraction(rpe) for rpe in as_rpe if rpe is not None]
    return round_half_even_6(sum(entered, Fraction(0)) / len(entered)) if entered else None


def lift_values(sets: Iterable[SetFact], moved_share: Bodyweights, formula: Formula) -> dict[str, LiftValue]:
    """Take each lift line's value of the week.

    Args:
        sets: Counted sets.
        moved_share: The bodyweight that a set moved, None when unknown.
        formula: The formula of every line.

    Returns:
        Line key to value, the median of the sessions' best estimates. A line is an exercise, side, tempo class,
        machine, and on stacks and plate-loaded machines the place, since no two are built alike. An added load is
        estimated with the bodyweight moved, which is then taken off again.

    Source: practice; the formulas as in `strength.FORMULAS`.
    """
    estimates: defaultdict[_Line, dict[str, list[Decimal]]] = defaultdict(dict)
    for one in sets:
        value = _estimate_kg(one, moved_share, formula)
        if value is not None:
            place = one.place if one.exercise.loading in PLACE_BOUND_LOADINGS else ""
            line = estimates[one.exercise.key, one.side, one.tempo_class, place, one.machine]
            line.setdefault(one.session_id, []).append(value)
    return {_line_key(line): _lift_value(line, by_session, formula) for line, by_session in sorted(estimates.items())}


def _line_key(line: _Line) -> str:
    """Only a machine may hold a slash, so it stands last; without machine and place their ends are left out."""
    *_, place, machine = line
    return "/".join(line if machine else line[:-1] if place else line[:-2])


def _lift_value(line: _Line, by_session: Mapping[str, list[Decimal]], formula: Formula) -> LiftValue:
    bests = [best for values in by_session.values() if (best := session_best(values)) is not None]
    exercise, side, line_class, place, machine = line
    return LiftValue(
        exercise=exercise,
        side=side,
        machine=machine,
        place=place,
        tempo_class=line_class,
        value_kg=weekly_value(bests) or Decimal(0),
        sessions=len(bests),
        formula=formula,
    )


def _estimate_kg(one: SetFact, moved_share: Bodyweights, formula: Formula) -> Decimal | None:
    segments = _segments(one)
    load = _own_load_kg(one, segments[0]) if segments and one.tempo_class != "assisted" else None
    body = moved_share(one) if one.load_basis == "added" else Decimal(0)
    if load is None or body is None:
        return None
    estimate = estimated_maximum(load + body, segments[0].reps, reserve(one), formula)
    return estimate.value_kg - body if estimate.enters_line and estimate.value_kg is not None else None


def _moved_kg(one: SetFact, segment: SegmentFact, moved_share: Bodyweights) -> Decimal | None:
    load = _own_load_kg(one, segment)
    body = moved_share(one) if one.load_basis == "added" else Decimal(0)
    if load is None or body is None:
        return None
    hands = HANDS if one.load_basis == "each_hand" and one.side == "both" else 1
    # More help than the body weighs moves nothing, never less.
    return max(load * hands + body, Decimal(0)) * segment.reps


def _own_load_kg(one: SetFact, segment: SegmentFact) -> Decimal | None:
    load = one.load_kg if segment.load_kg is None else segment.load_kg
    bare = load is None and one.load_basis == "added" and one.exercise.loading != "band"
    return Decimal(0) if bare else load


def _segments(one: SetFact) -> tuple[SegmentFact, ...]:
    if one.segments:
        return one.segments
    return () if one.reps is None else (SegmentFact(reps=one.reps),)


def _by_number(sets: Iterable[SetFact]) -> dict[tuple[str, str, str, int], list[SetFact]]:
    groups: defaultdict[tuple[str, str, str, int], list[SetFact]] = defaultdict(list)
    for one in sets:
        groups[one.session_id, one.exercise.key, one.slot_key, one.set_number].append(one)
    return groups


def _sets_in(group: Iterable[SetFact]) -> int:
    sides = [one.side for one in group]
    return sides.count("both") + max(sides.count("left"), sides.count("right"))


def _group_counts(group: list[SetFact]) -> tuple[int, int, int]:
    work = _sets_in(group)
    known = [(one, left) for one in group if (left := reserve(one)) is not None]
    hard = _sets_in(one for one, left in known if left <= HARD_IN_RESERVE)
    unknown = _sets_in(one for one in group if reserve(one) is None)
    return work, hard, min(unknown, work - hard)
