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
        "percent_too_light": f" It was easier than planned: {outcomes_words(ground.slot, used)}.",
        "percent_too_heavy": f" It was harder than planned: {outcomes_words(ground.slot, used)}.",
    }
    suggestion = {
        "percent_too_light": "Test again, or set a higher training maximum.",
        "percent_too_heavy": "Test again, or set a lower training maximum.",
    }
    unknown = bool(used) and used[0].reserve_over is None and used[0].target is not None
    asks = unknown and used[0].target is not None and used[0].target.reserve is not None
    return LoadAdvice(
        action="same",
        reason=reason,
        sentence=f"{load}{ground.target.from_what}{words.get(reason, '')}",
        load=resolved,
        last=ground.outcomes[0].load if ground.outcomes else None,
        method="percent_target",
        inputs=used,
        missing=("effort",) if asks else (),
        suggestion=suggestion.get(reason),
    )


def _reason(ground: AdviceGround, used: tuple[LiftOutcome, ...]) -> Reason:
    if len(used) < ground.policy.sessions:
        return "percent_of_reference"
    bound = Fraction(ground.policy.effort_miss)
    if all(one.missed or (one.reserve_over is not None and one.reserve_over <= -bound) for one in used):
        return "percent_too_heavy"
    if all(not one.missed and one.reserve_over is not None and one.reserve_over >= bound for one in used):
        return "percent_too_light"
    return "percent_of_reference"
