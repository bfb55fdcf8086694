"""Why sessions of a line gave it no value: a trend that never fills says so, instead of counting weeks for ever."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from logs.analysis.lift_lines import LiftSession, NoEstimate

_WORDS: Final[dict[NoEstimate, str]] = {
    "over_10_repetitions": "over 10 repetitions to failure",
    "over_12_repetitions": "over 12 repetitions to failure",
    "over_3_in_reserve": "over 3 in reserve",
    "unknown_effort": "no effort given",
    "no_repetitions": "no repetitions",
    "no_load": "no load",
    "no_bodyweight": "no weigh-in on the day or in the 28 days before",
    "assisted": "a helped lift",
}
_CURES: Final[dict[NoEstimate, str]] = {
    "unknown_effort": "Log the effort.",
    "no_bodyweight": "Log a bodyweight.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class WithoutValue:
    """Sessions of a line that gave it no value.

    Attributes:
        sessions: How many.
        of_sessions: Of how many.
        reasons: By why their best set gave none, the most frequent first.
        sentence: The same in words.
    """

    sessions: int
    of_sessions: int
    reasons: tuple[tuple[NoEstimate, int], ...]
    sentence: str


def without_value(sessions: Sequence[LiftSession]) -> WithoutValue | None:
    """Count the sessions that gave a line no value.

    Args:
        sessions: The line's sessions, deload and absent weeks left out.

    Returns:
        How many and why; None where every session gave one.

    Source: practice.
    """
    reasons = Counter(best.reason for session in sessions if not (best := session.best).enters_line)
    count = reasons.total()
    if not count:
        return None
    ordered = tuple(sorted(reasons.items(), key=lambda one: (-one[1], one[0])))
    why = ", ".join(f"{_WORDS[reason]} ({number})" for reason, number in ordered)
    cures = [_CURES[reason] for reason, _number in ordered if reason in _CURES]
    said = f"{count} of {len(sessions)} session{'' if len(sessions) == 1 else 's'} gave no value: {why}."
    return WithoutValue(sessions=count, of_sessions=len(sessions), reasons=ordered, sentence=" ".join((said, *cures)))
