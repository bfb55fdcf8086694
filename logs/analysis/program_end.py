"""A program of which little is left."""

from collections.abc import Iterable
from datetime import date
from typing import Final

from coaching.measures.local_calendar import DateSpan
from logs.analysis.overview import OverviewPolicy
from logs.analysis.readiness import RuleState

CAUTION: Final = "A date on the calendar, no judgement of the person: how to go on is the coach's to decide."
"""Said with every program that runs out. Practice."""

_DEFAULT = OverviewPolicy()


def program_runs_out_state(
    written_until: date | None,
    today: date,
    away: Iterable[DateSpan] = (),
    policy: OverviewPolicy = _DEFAULT,
) -> RuleState:
    """Say whether the program is written for few days more.

    Args:
        written_until: The last planned date of the program that runs; None while none runs.
        today: The client's local date.
        away: Absences and pauses.
        policy: The morning page's, so that page and flag never differ about the days.

    Returns:
        The state, scope `all`. Who has no program has none that runs out; nor does the rule speak on a day away.

    Source: practice.
    """
    rule = f"The last planned session is {policy.runs_out_days} days ahead or nearer, or has passed; not while away."
    if written_until is None:
        return _state(rule, holds=False, sentence="No program runs.")
    left_days = (written_until - today).days
    figures: dict[str, str | int] = {"written_until": written_until.isoformat(), "days_left": left_days}
    if any(today in span for span in away):
        return _state(rule, holds=False, sentence="Away today, so nothing is expected of the program.")
    return _state(
        rule,
        holds=left_days <= policy.runs_out_days,
        sentence=_sentence(written_until, left_days),
        figures=figures,
        evidence=(f"until:{written_until.isoformat()}",),
    )


def _sentence(written_until: date, left_days: int) -> str:
    if left_days < 0:
        return f"The last session written was for {written_until}; nothing is planned after it."
    when = f"in {left_days} days" if left_days > 1 else "tomorrow" if left_days == 1 else "today"
    return f"The last session written is for {written_until}, {when}."


def _state(
    rule: str,
    *,
    holds: bool,
    sentence: str,
    figures: dict[str, str | int] | None = None,
    evidence: tuple[str, ...] = (),
) -> RuleState:
    return RuleState(
        kind="program_runs_out",
        holds=holds,
        severity="note",
        sentence=sentence,
        figures={**(figures or {})},
        rule=rule,
        caution=CAUTION,
        evidence=evidence,
    )
