"""What the sets of a week moved: the share of the body, and the tonnage."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from logs.analysis.constants import BODYWEIGHT_KNOWN_DAYS, HANDS
from logs.analysis.facts import SegmentFact, SetFact, WeighIn
from logs.analysis.performed_sets import count_sets, own_load_kg, segments
from logs.analysis.rounding import round_half_even_6

Bodyweights = Callable[[SetFact], Decimal | None]


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
        moved = [_moved_kg(one, segment, moved_share) for segment in segments(one) if segment.reps]
        if None in moved:
            unknown.append(one)
        else:
            total += sum((kg for kg in moved if kg is not None), Decimal(0))
    return total, count_sets(unknown)


def _moved_kg(one: SetFact, segment: SegmentFact, moved_share: Bodyweights) -> Decimal | None:
    load = own_load_kg(one, segment)
    body = moved_share(one) if one.load_basis == "added" else Decimal(0)
    if load is None or body is None:
        return None
    hands = HANDS if one.load_basis == "each_hand" and one.side == "both" else 1
    # More help than the body weighs moves nothing, never less.
    return max(load * hands + body, Decimal(0)) * segment.reps
