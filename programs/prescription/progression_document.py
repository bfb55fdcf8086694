"""Between progression rules and their JSON, both ways."""

from decimal import Decimal
from typing import Any

from programs.prescription.progression_fields import (
    DeloadPart,
    DoubleProgressionPart,
    LoadStepPart,
    PercentRulePart,
    RepetitionStepPart,
    RestStepPart,
    RulePart,
    SetStepPart,
    TempoStepPart,
    WavePart,
)
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


def read_rule(part: RulePart) -> ProgressionRule:
    """Turn a rule's document part into the rule."""
    if isinstance(part, DeloadPart):
        return Deload(
            every_weeks=part.every_weeks,
            sets_pct=part.sets_pct,
            load_pct=part.load_pct,
            rounds_pct=part.rounds_pct,
        )
    if isinstance(part, WavePart):
        weeks = tuple(WaveWeek(load_pct=week.load_pct, reps=week.reps, sets=week.sets) for week in part.weeks)
        return Wave(weeks=weeks, targets=part.targets())
    return _read_stepped(part, part.targets(), part.pace())


def _read_stepped(part: RulePart, targets: Targets, pace: StepPace) -> ProgressionRule:
    match part:
        case LoadStepPart():
            return LoadStep(change=part.change(), targets=targets, pace=pace)
        case DoubleProgressionPart():
            return DoubleProgression(
                reps_high=part.reps_high, step_reps=part.step_reps, change=part.change(), targets=targets, pace=pace
            )
        case PercentRulePart():
            return PercentRule(step_pct=part.step_pct, pcts=tuple(part.pcts), targets=targets, pace=pace)
        case RepetitionStepPart():
            return RepetitionStep(step_reps=part.step_reps, limit_reps=part.limit_reps, targets=targets, pace=pace)
        case SetStepPart():
            return SetStep(step_sets=part.step_sets, limit_sets=part.limit_sets, targets=targets, pace=pace)
        case RestStepPart():
            return RestStep(step_s=part.step_s, limit_s=part.limit_s, targets=targets, pace=pace)
        case TempoStepPart():
            return TempoStep(phase=part.phase, step_s=part.step_s, limit_s=part.limit_s, targets=targets, pace=pace)
        case _:
            raise TypeError(f"{type(part).__name__} does not step.")


def encode_rule(rule: ProgressionRule) -> dict[str, Any]:
    """Write a rule as a JSON value; what is unset is left out."""
    match rule:
        case Deload():
            return {
                "kind": "deload",
                "every_weeks": rule.every_weeks,
                "sets_pct": _text(rule.sets_pct),
                "load_pct": _text(rule.load_pct),
                **_given(rounds_pct=_text(rule.rounds_pct)),
            }
        case Wave():
            weeks = [{"load_pct": _text(week.load_pct), "reps": week.reps, "sets": week.sets} for week in rule.weeks]
            return {"kind": "wave", "weeks": weeks, **_targets(rule.targets)}
        case _:
            return {**_stepped(rule), **_targets(rule.targets), **_pace(rule.pace)}


def _stepped(rule: SteppedRule) -> dict[str, Any]:
    match rule:
        case LoadStep():
            return {"kind": "load_step", **_change(rule.change)}
        case DoubleProgression():
            return {
                "kind": "double_progression",
                "reps_high": rule.reps_high,
                "step_reps": rule.step_reps,
                **_change(rule.change),
            }
        case PercentRule():
            pcts = [_text(pct) for pct in rule.pcts] or None
            return {"kind": "percent", **_given(step_pct=_text(rule.step_pct), pcts=pcts)}
        case RepetitionStep():
            return {"kind": "reps_step", "step_reps": rule.step_reps, **_given(limit_reps=rule.limit_reps)}
        case SetStep():
            return {"kind": "set_step", "step_sets": rule.step_sets, **_given(limit_sets=rule.limit_sets)}
        case RestStep():
            return {"kind": "rest_step", "step_s": rule.step_s, **_given(limit_s=rule.limit_s)}
        case TempoStep():
            return {"kind": "tempo_step", "phase": rule.phase, "step_s": rule.step_s, **_given(limit_s=rule.limit_s)}


def _change(change: LoadChange) -> dict[str, Any]:
    if change.pct is not None:
        return {"step_pct": _text(change.pct)}
    return {f"step_{change.unit}": _text(change.amount)}


def _targets(targets: Targets) -> dict[str, Any]:
    return _given(slot_keys=list(targets.slot_keys) or None, template_keys=list(targets.template_keys) or None)


def _pace(pace: StepPace) -> dict[str, Any]:
    return {"every_weeks": pace.every_weeks, **_given(from_week=pace.from_week, to_week=pace.to_week)}


def _text(value: Decimal | None) -> str | None:
    return None if value is None else format(value, "f")


def _given(**fields: object) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value is not None}
