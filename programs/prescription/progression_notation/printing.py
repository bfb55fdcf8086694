"""Printing progression rules as they are written: what is printed reads back equal."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Final

from programs.prescription.progression_rules import (
    Deload,
    DoubleProgression,
    LoadChange,
    LoadStep,
    PercentRule,
    ProgressionRule,
    RepetitionStep,
    RestStep,
    SetStep,
    StepPace,
    SteppedRule,
    Targets,
    TempoStep,
    Wave,
    WaveWeek,
)

_BARE_SLOT: Final = re.compile(r"[A-Z]\d{0,2}")
_BARE_TEMPLATE: Final = re.compile(r"(?:lower|upper|full|day|session|push|pull|legs|body)(?:-[a-z0-9]+)*")


def print_progression(rules: Iterable[ProgressionRule]) -> str:
    """Write rules down, one on a line, each line ended."""
    return "".join(f"{_line(rule)}\n" for rule in rules)


def _line(rule: ProgressionRule) -> str:
    match rule:
        case Deload():
            rounds = "" if rule.rounds_pct is None else f", {_plain(rule.rounds_pct)} % of rounds"
            shares = f"{_plain(rule.sets_pct)} % of sets, {_signed(rule.load_pct)} % load{rounds}"
            return f"deload every {rule.every_weeks} weeks, {shares}"
        case Wave():
            return f"{_targets(rule.targets)}wave {', '.join(map(_wave_week, rule.weeks))}"
        case _:
            return f"{_targets(rule.targets)}{_step(rule)}{_pace(rule.pace)}"


def _step(rule: SteppedRule) -> str:
    match rule:
        case LoadStep():
            return _change(rule.change)
        case DoubleProgression():
            return f"double progression to {rule.reps_high} by {_reps(rule.step_reps)}, {_change(rule.change)}"
        case PercentRule():
            points = None if rule.step_pct is None else f"{_signed(rule.step_pct)} % points"
            return points or f"{', '.join(map(_plain, rule.pcts))} %"
        case _:
            return _limited(rule)


def _limited(rule: RepetitionStep | SetStep | RestStep | TempoStep) -> str:
    match rule:
        case RepetitionStep():
            return f"{_counted(rule.step_reps, 'rep')}{_limit(rule.limit_reps)}"
        case SetStep():
            return f"{_counted(rule.step_sets, 'set')}{_limit(rule.limit_sets)}"
        case RestStep():
            return f"rest {_signed(rule.step_s)} s{_limit(rule.limit_s, ' s')}"
        case TempoStep():
            return f"{rule.phase} {_signed(rule.step_s)} s{_limit(rule.limit_s, ' s')}"


def _change(change: LoadChange) -> str:
    if change.pct is not None:
        return f"{_signed(change.pct)} % of load"
    return f"{_signed(change.amount or Decimal(0))} {change.unit}"


def _wave_week(week: WaveWeek) -> str:
    said = [
        f"{_signed(week.load_pct)} %" if week.load_pct else "",
        _counted(week.reps, "rep") if week.reps else "",
        _counted(week.sets, "set") if week.sets else "",
    ]
    return " ".join(part for part in said if part) or "same"


def _targets(targets: Targets) -> str:
    slots = ", ".join(key if _BARE_SLOT.fullmatch(key) else f"[{key}]" for key in targets.slot_keys)
    templates = ", ".join(key if _BARE_TEMPLATE.fullmatch(key) else f"[{key}]" for key in targets.template_keys)
    named = " ".join(part for part in (slots, f"in {templates}" if templates else "") if part)
    return f"{named}: " if named else ""


def _pace(pace: StepPace) -> str:
    said = " every week" if pace.every_weeks == 1 else f" every {pace.every_weeks} weeks"
    said += "" if pace.from_week is None else f" from week {pace.from_week}"
    return said + ("" if pace.to_week is None else f" to week {pace.to_week}")


def _limit(value: int | None, unit: str = "") -> str:
    return "" if value is None else f" to {value}{unit}"


def _plain(value: Decimal) -> str:
    return format(value, "f")


def _signed(value: Decimal | int) -> str:
    return f"{value:+d}" if isinstance(value, int) else f"{value:+f}"


def _counted(value: int, word: str) -> str:
    return f"{value:+d} {word}" if abs(value) == 1 else f"{value:+d} {word}s"


def _reps(value: int) -> str:
    return _counted(value, "rep").removeprefix("+")
