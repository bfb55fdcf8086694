"""One client's week in figures: the reference that the set-based SQL must equal to the last digit.

Sums are exact. Quotients, means and roots are rounded once, half-even, to six places. Planned counts and adherence
belong to the week planned; sets, tonnage and load to the week performed. Nothing here looks at another week, except
for the bodyweight known from the 28 days before.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Any, Final

from logs.analysis.adherence import SessionCounts, session_adherence, session_counts
from logs.analysis.constants import ROOT_DIGITS, SESSION_MAX_MIN, SESSION_OVER_PLANNED_RATIO
from logs.analysis.counted_sets import mean_effort, muscle_sets, repetitions, set_counts
from logs.analysis.facts import CheckInFact, PlannedFact, SessionFact, WeekFacts
from logs.analysis.lift_values import lift_values
from logs.analysis.moved_loads import bodyweight_share_kg, tonnage_kg
from logs.analysis.performed_sets import counted
from logs.analysis.plan_adherence import plan_adherence
from logs.analysis.rounding import clock_minutes, round_half_even_6
from logs.analysis.session_load import monotony, session_load, strain
from logs.analysis.set_tension import density_s_per_min, tension_sums
from logs.analysis.strength import Formula
from logs.analysis.week_figures import WeekFigures
from programs.prescription.session_states import State

UNLOGGED_STATES: Final[frozenset[State]] = frozenset({"planned", "missed"})
"""States of which it is not known what the person did. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPolicy:
    """What a business may change about weekly figures."""

    formula: Formula = "epley"
    """The formula of every estimated maximum. Practice."""


_DEFAULT_POLICY = WeekPolicy()
_MICROSECONDS_PER_S = 1_000_000


def weekly_figures(facts: WeekFacts, policy: WeekPolicy = _DEFAULT_POLICY) -> WeekFigures:
    """Compute a client's week.

    Args:
        facts: The week's facts.
        policy: What the business may change.

    Returns:
        The figures. `monotony_reason` is empty when there is a value, else `unknown_days`, `all_rest` or
        `zero_variance`.

    Raises:
        EstimateError: A set has impossible repetitions or effort.
        DayLoadError: A session has an impossible rating or duration.

    Source: practice; monotony and strain Foster 1998, sets per muscle Pelland et al. 2024.
    """
    # A caller's decimal context must not round a sum.
    with localcontext(prec=ROOT_DIGITS):
        return _figures(facts, policy)


def session_minutes(session: SessionFact) -> Decimal | None:
    """Find how long a session took.

    Args:
        session: A session performed.

    Returns:
        Declared minutes, else minutes on the clock (rounded half-even to two places); None when neither is given, the
        clock runs backwards, or they are over 180 or over twice the planned high time and nobody confirmed them.

    Source: practice.
    """
    minutes = _stated_minutes(session)
    if minutes is None or session.minutes_confirmed:
        return minutes
    over_planned = (
        session.planned_high_min is not None and minutes > SESSION_OVER_PLANNED_RATIO * session.planned_high_min
    )
    return None if over_planned or minutes > SESSION_MAX_MIN else minutes


def day_loads(
    days: Iterable[date], sessions: Iterable[SessionFact], planned: Iterable[PlannedFact]
) -> list[Decimal | None]:
    """Find each day's load.

    Args:
        days: Local dates.
        sessions: Sessions performed.
        planned: Sessions planned.

    Returns:
        Per day the sum of its session loads, 0 on a known rest day; None when a session's load is unknown, or a
        session was planned that day and nothing was logged for it.

    Raises:
        DayLoadError: A session has an impossible rating or duration.

    Source: practice; session load Foster 1998.
    """
    logged: defaultdict[date, list[Decimal | None]] = defaultdict(list)
    for session in sessions:
        logged[session.local_date].append(_load(session))
    for fact in planned:
        if fact.state in UNLOGGED_STATES:
            logged[fact.local_date].append(None)
    return [_day_load(logged[day]) for day in days]


def _figures(facts: WeekFacts, policy: WeekPolicy) -> WeekFigures:
    return WeekFigures(
        week_start=facts.week_start,
        deload=any(fact.deload for fact in facts.planned),
        adherence_sessions=session_adherence(facts.planned),
        **_counts_of_sessions(session_counts(facts.planned)),
        **asdict(plan_adherence(facts.planned)),
        **_sums_of_sets(facts, policy),
        **_loads(facts),
        **_check_ins(facts.check_ins),
    )


def _counts_of_sessions(counts: SessionCounts) -> dict[str, Any]:
    return {f"sessions_{name}": count for name, count in asdict(counts).items()}


def _sums_of_sets(facts: WeekFacts, policy: WeekPolicy) -> dict[str, Any]:
    sets, weigh_ins = counted(facts.sets), facts.weigh_ins
    tonnage, unknown_load = tonnage_kg(sets, lambda one: bodyweight_share_kg(one, weigh_ins))
    return {
        **asdict(set_counts(sets)),
        **asdict(tension_sums(sets)),
        "unknown_load_sets": unknown_load,
        "reps": repetitions(sets),
        "tonnage_kg": tonnage,
        "muscle_sets": muscle_sets(sets),
        "mean_effort": mean_effort(sets),
        "lift_values": lift_values(sets, lambda one: bodyweight_share_kg(one, weigh_ins), policy.formula),
    }


def _loads(facts: WeekFacts) -> dict[str, Any]:
    loads = day_loads(facts.days, facts.sessions, facts.planned)
    known = [load for session in facts.sessions if (load := _load(session)) is not None]
    monotonous = monotony(loads)
    minutes = {one.session_id: length for one in facts.sessions if (length := session_minutes(one)) is not None}
    return {
        "session_min": sum(minutes.values(), Decimal(0)),
        "unknown_minutes_sessions": len(facts.sessions) - len(minutes),
        "density_s_per_min": density_s_per_min(counted(facts.sets), minutes),
        "session_load": sum(known, Decimal(0)),
        "days_unknown": sum(load is None for load in loads),
        "monotony": monotonous.value,
        "strain": strain(loads).value,
        "monotony_reason": "" if monotonous.reason == "known" else monotonous.reason,
    }


def _check_ins(check_ins: Sequence[CheckInFact]) -> dict[str, Any]:
    # The logarithm of no variability at all is no number.
    rmssd_ms = [one.hrv_rmssd_ms for one in check_ins if one.hrv_rmssd_ms]
    return {
        "check_ins": len(check_ins),
        "mean_sleep": _mean(one.sleep for one in check_ins),
        "mean_fatigue": _mean(one.fatigue for one in check_ins),
        "mean_stress": _mean(one.stress for one in check_ins),
        "mean_soreness": _mean(one.soreness for one in check_ins),
        "mean_bodyweight_kg": _mean(one.bodyweight_kg for one in check_ins),
        "mean_resting_hr_bpm": _mean(one.resting_hr_bpm for one in check_ins),
        "resting_hr_readings": sum(one.resting_hr_bpm is not None for one in check_ins),
        "mean_ln_rmssd": _mean(value.ln() for value in rmssd_ms),
        "hrv_readings": len(rmssd_ms),
    }


def _stated_minutes(session: SessionFact) -> Decimal | None:
    if session.duration_min is not None:
        return session.duration_min
    if session.started_at is None or session.finished_at is None or session.finished_at < session.started_at:
        return None
    elapsed = session.finished_at - session.started_at
    return clock_minutes(Fraction(elapsed // timedelta(microseconds=1), _MICROSECONDS_PER_S))


def _load(session: SessionFact) -> Decimal | None:
    minutes = session_minutes(session)
    if session.session_rpe is None or minutes is None:
        return None
    return session_load(session.session_rpe, minutes)


def _day_load(loads: list[Decimal | None]) -> Decimal | None:
    known = [load for load in loads if load is not None]
    return sum(known, Decimal(0)) if len(known) == len(loads) else None


def _mean(values: Iterable[Decimal | int | None]) -> Decimal | None:
    known = [Fraction(value) for value in values if value is not None]
    return round_half_even_6(sum(known, Fraction(0)) / len(known)) if known else None
