"""Double progression and effort targets: what the last sessions of the same work say about its load."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

from logs.analysis.load_advice_moves import Move, stay, step_down, step_up
from logs.analysis.load_advice_outcomes import LiftOutcome, range_top, running
from logs.analysis.load_advice_results import AdviceGround, LoadAdvice, Method
from logs.analysis.load_advice_steps import loadable_below
from logs.analysis.load_advice_words import effort_words, load_words, outcome_words, outcomes_words, range_words


def double_progression(ground: AdviceGround, last: LiftOutcome) -> LoadAdvice:
    """Advise by repetitions: up when all sets are at the top within the effort, down after misses.

    Args:
        ground: what the advice stands on.
        last: the newest outcome of the same range.

    Source: practice, after ACSM 2009.
    """
    missed = after_misses(ground, last, "double_progression") or _planned_step(ground, last)
    if missed is not None:
        return missed
    if last.verdict == "topped":
        return _topped(ground, last)
    done = outcome_words(ground.slot, last)
    asked = range_words(ground.target) + effort_words(ground.target.reserve)
    if last.verdict == "effort_unknown":
        words = f"{done}, all at the top of {asked}, but the effort was not logged: log it."
        return stay(ground, last, "effort_unknown", words, ask="effort")
    if last.verdict == "effort_above":
        return stay(
            ground, last, "effort_above", f"{done}, all at the top, but with less in reserve than {asked} asks."
        )
    if last.verdict == "incomplete":
        return stay(ground, last, "incomplete", _incomplete_words(ground, last, done))
    top = range_top(ground.target, ground.policy)
    return stay(ground, last, "in_range", f"{done}: add repetitions, to {top} in every set.")


def effort_target(ground: AdviceGround, last: LiftOutcome) -> LoadAdvice:
    """Advise by effort at fixed repetitions: a step when it was off the same way in every session counted.

    Args:
        ground: what the advice stands on.
        last: the newest outcome of the same repetitions.

    Source: practice; Zourdos et al. 2016 for the scale.
    """
    missed = after_misses(ground, last, "effort_target") or _planned_step(ground, last)
    if missed is not None:
        return missed
    latest = ground.same_asked[: _sessions(ground)]
    done = outcomes_words(ground.slot, latest)
    overs = [one.reserve_over for one in latest]
    if overs[0] is None:
        words = f"{outcome_words(ground.slot, last)}: the effort was not logged, so the load stays; log RPE or reserve."
        return stay(ground, last, "effort_unknown", words, method="effort_target", ask="effort")
    bound = Fraction(ground.policy.effort_miss)
    known = [over for over in overs if over is not None]
    enough = len(known) == _sessions(ground)
    asked = effort_words(ground.target.reserve)
    if enough and min(known) >= bound and last.verdict != "incomplete":
        words = f"{done}, easier than what was asked,{asked}"
        return step_up(ground, last, Move(reason="effort_easier", words=words, method="effort_target", used=latest))
    if enough and max(known) <= -bound:
        words = f"{done}, harder than what was asked,{asked}"
        return step_down(ground, last, Move(reason="effort_harder", words=words, method="effort_target", used=latest))
    words = f"{outcome_words(ground.slot, last)}, near enough{asked}: the load stays."
    return stay(ground, last, "effort_on_target", words, method="effort_target")


def after_misses(ground: AdviceGround, last: LiftOutcome, method: Method) -> LoadAdvice | None:
    """Advise after a miss: the same after one, less after two running or at once when it was short by two.

    Args:
        ground: what the advice stands on.
        last: the newest outcome of the same range.
        method: by which rule the load is found otherwise.

    Returns:
        The advice; None where the last session was no miss.

    Source: practice.
    """
    if not last.missed:
        return None
    misses = running(ground.same_asked, "missed", "short")
    asked = f"{range_words(ground.target)} was asked"
    if last.verdict == "short":
        words = f"{outcome_words(ground.slot, last)}, {ground.policy.short_reps} or more short: {asked}"
        return step_down(ground, last, Move(reason="two_short", words=words, method=method, used=(last,)))
    if misses >= ground.policy.misses:
        used = ground.same_asked[:misses]
        words = f"{outcomes_words(ground.slot, used)}: {misses} misses running, {asked}"
        return step_down(ground, last, Move(reason="misses_running", words=words, method=method, used=used))
    words = f"{outcome_words(ground.slot, last)}: one miss, {asked}; the same again."
    return stay(ground, last, "one_miss", words, method=method)


def _topped(ground: AdviceGround, last: LiftOutcome) -> LoadAdvice:
    hits = running(ground.same_asked, "topped", heavier=True)
    needed = _sessions(ground)
    asked = range_words(ground.target) + effort_words(ground.target.reserve)
    if hits < needed:
        done = outcome_words(ground.slot, last)
        words = f"{done}, all at the top of {asked}: once more and the load goes up."
        return stay(ground, last, "not_often_enough", words)
    used = ground.same_asked[:needed]
    words = f"{outcomes_words(ground.slot, used)}, all at the top of {asked}"
    return step_up(ground, last, Move(reason="top_of_range", words=words, used=used))


def _planned_step(ground: AdviceGround, last: LiftOutcome) -> LoadAdvice | None:
    """Follow a program that steps the load itself, held to the most rise over what was lifted."""
    target, before = ground.target, last.target
    if target.kind != "absolute" or before is None or before.kind != "absolute" or target.resolved is None:
        return None
    if before.written == target.written or last.load is None or ground.slot.grid.base is None:
        return None
    moved = last.load + ground.slot.grid.base
    # A light day between heavy ones takes nothing from what the heavy ones showed.
    heaviest = max(_lifted_lately(ground, last))
    most = Fraction(heaviest) + Fraction(heaviest + ground.slot.grid.base) * Fraction(ground.policy.most_rise)
    planned = loadable_below(ground.slot, min(Fraction(target.resolved), most)) if moved > 0 else target.resolved
    if planned is None:
        return None
    over = (
        f" It has {load_words(ground.slot, target.resolved)}, over the most rise." if planned < target.resolved else ""
    )
    return LoadAdvice(
        action="up" if planned > last.load else "down" if planned < last.load else "same",
        reason="planned_step",
        sentence=f"{load_words(ground.slot, planned)} as the program steps it: last {outcome_words(ground.slot, last)}."
        f"{over}",
        load=planned,
        last=last.load,
        method="as_prescribed",
        inputs=(last,),
    )


def _lifted_lately(ground: AdviceGround, last: LiftOutcome) -> Iterator[Decimal]:
    since = last.local_date - timedelta(days=ground.policy.unlifted_hold_days)
    for one in ground.same_asked:
        if one.load is not None and not one.missed and one.local_date >= since:
            yield one.load


def _incomplete_words(ground: AdviceGround, last: LiftOutcome, done: str) -> str:
    asked = ground.target.sets if last.target is None else last.target.sets
    return f"{done}: {last.full_sets} of {asked} sets were done in full at that load."


def _sessions(ground: AdviceGround) -> int:
    return ground.policy.sessions_novice if ground.slot.novice else ground.policy.sessions
