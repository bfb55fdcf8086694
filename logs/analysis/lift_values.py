"""What each lift line was worth in a week."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from logs.analysis.facts import SetFact
from logs.analysis.lift_lines import LiftLine, line_of
from logs.analysis.moved_loads import Bodyweights
from logs.analysis.performed_sets import own_load_kg, reserve, segments
from logs.analysis.rounding import round_half_even_6
from logs.analysis.strength import FORMULAS, Formula, TempoClass, estimated_maximum


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
    estimates: defaultdict[LiftLine, dict[str, list[Fraction]]] = defaultdict(dict)
    for one in sets:
        value = _estimate_kg(one, moved_share, formula)
        if value is not None:
            estimates[line_of(one)].setdefault(one.session_id, []).append(value)
    return {line.key: _lift_value(line, by_session, formula) for line, by_session in sorted(estimates.items())}


def _lift_value(line: LiftLine, by_session: Mapping[str, list[Fraction]], formula: Formula) -> LiftValue:
    return LiftValue(
        exercise=line.exercise,
        side=line.side,
        machine=line.machine,
        place=line.place,
        tempo_class=line.tempo_class,
        value_kg=_median_kg([max(values) for values in by_session.values()]),
        sessions=len(by_session),
        formula=formula,
    )


def _median_kg(bests: list[Fraction]) -> Decimal:
    """Round once, at the end, so that which best is the middle one never hangs on a last digit."""
    ordered, middle = sorted(bests), len(bests) // 2
    pair = ordered[middle : middle + 1] if len(ordered) % 2 else ordered[middle - 1 : middle + 1]
    return round_half_even_6(sum(pair, Fraction(0)) / len(pair))


def _estimate_kg(one: SetFact, moved_share: Bodyweights, formula: Formula) -> Fraction | None:
    parts, left = segments(one), reserve(one)
    load = own_load_kg(one, parts[0]) if parts and one.tempo_class != "assisted" else None
    body = moved_share(one) if one.load_basis == "added" else Decimal(0)
    if load is None or body is None or left is None:
        return None
    if not estimated_maximum(load + body, parts[0].reps, left, formula).enters_line:
        return None
    to_failure = parts[0].reps + Fraction(left)
    factor = Fraction(1) if to_failure == 1 else FORMULAS[formula](to_failure)
    return Fraction(load + body) * factor - Fraction(body)
