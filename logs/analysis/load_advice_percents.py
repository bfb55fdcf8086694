"""Percent targets: the load follows from a reference; effort that is off again and again speaks about the reference."""

from fractions import Fraction

from logs.analysis.load_advice_outcomes import LiftOutcome
from logs.analysis.load_advice_results import AdviceGround, LoadAdvice, Reason
from logs.analysis.load_advice_words import load_words, outcomes_words


def percent_target(ground: AdviceGround) -> LoadAdvice:
    """Advise the load that the reference gives, and say when the reference looks wrong; never change it.

    Args:
        ground: what the advice stands on; its target is resolved.

    Returns:
        The load as resolved. After as many sessions running off the same way as the policy says, `percent_too_light` or
        `percent_too_heavy`, with a suggestion to test again or to set a new training maximum.

    Source: practice.
    """
    used = tuple(one for one in ground.outcomes if one.target is not None and one.target.kind == "percent")
    used = used[: ground.policy.sessions]
    reason = _reason(ground, used)
    resolved = ground.target.resolved
    load = "" if resolved is None else f"{load_words(ground.slot, resolved)}: "
    words = {
        "percent_too_light": f" More could be lifted than planned: {outcomes_words(ground.slot, used)}",
        "percent_too_heavy": f" Less was lifted, or harder, than planned: {outcomes_words(ground.slot, used)}",
    }
    unknown = bool(used) and used[0].reserve_over is None and used[0].target is not None
    asks = unknown and used[0].target is not None and used[0].target.reserve is not None
    return LoadAdvice(
        action="same",
        reason=reason,
        sentence=f"{load}{ground.target.from_what}{words.get(reason, '')}{_instead_of(ground, reason, used)}",
        load=resolved,
        last=None if ground.last is None else ground.last.load,
        method="percent_target",
        inputs=used,
        missing=("effort",) if asks else (),
        suggestion=_suggestion(ground, reason),
    )


def _suggestion(ground: AdviceGround, reason: Reason) -> str | None:
    """Suggest what to do about the reference; a test only to those whom care lets be tested."""
    if reason not in ("percent_too_light", "percent_too_heavy"):
        return None
    set_one = f"et a {'higher' if reason == 'percent_too_light' else 'lower'} training maximum"
    if ground.slot.no_test:
        return f"S{set_one}, or prescribe by effort. {ground.slot.no_test}"
    return f"Test again, or s{set_one}."


def _instead_of(ground: AdviceGround, reason: Reason, used: tuple[LiftOutcome, ...]) -> str:
    if reason == "percent_of_reference":
        return ""
    latest = used[0].target
    if _by_load(ground, used[0]) == 0 or latest is None or latest.resolved is None:
        return "."
    return f", where {load_words(ground.slot, latest.resolved)} was prescribed."


def _reason(ground: AdviceGround, used: tuple[LiftOutcome, ...]) -> Reason:
    if len(used) < ground.policy.sessions:
        return "percent_of_reference"
    leans = {_lean(ground, one) for one in used}
    if leans == {-1}:
        return "percent_too_heavy"
    return "percent_too_light" if leans == {1} else "percent_of_reference"


def _lean(ground: AdviceGround, one: LiftOutcome) -> int:
    """Say which way a session spoke: 1 that more could be lifted, -1 that less, 0 neither."""
    bound = Fraction(ground.policy.effort_miss)
    if one.missed or (one.reserve_over is not None and one.reserve_over <= -bound):
        return -1
    if one.reserve_over is not None and one.reserve_over >= bound:
        return 1
    return _by_load(ground, one)


def _by_load(ground: AdviceGround, one: LiftOutcome) -> int:
    """Compare what was lifted with what was prescribed then; a tenth of the load moved is a difference."""
    then, base = None if one.target is None else one.target.resolved, ground.slot.grid.base
    if then is None or one.load is None or base is None or then + base <= 0:
        return 0
    share = Fraction(one.load - then) / Fraction(then + base)
    return 0 if abs(share) < Fraction(ground.policy.most_rise) else 1 if share > 0 else -1
