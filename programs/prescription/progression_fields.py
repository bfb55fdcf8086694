"""The shapes of progression rules in JSON.

`{"kind": "load_step", "slot_keys": ["A1"], "step_kg": "2.5"}` and so on; a rule without slot_keys or template_keys is
for every slot or session.
"""

from decimal import Decimal
from typing import Annotated, Final, Literal, Self

from pydantic import Field, StrictInt, model_validator
from pydantic_core import PydanticCustomError

from programs.prescription.constants import (
    DELOAD_EVERY_MIN_WEEKS,
    DELOAD_LOAD_PCT,
    DELOAD_SETS_PCT,
    LOAD_MAX_KG,
    LOAD_MAX_LB,
    PERCENT,
    PERCENT_MAX_PCT,
    PERCENT_MIN_PCT,
    PROGRESSION_TARGETS_MAX,
    REPS_MAX,
    REST_MAX_S,
    SET_COUNT_MAX,
    TEMPO_PART_MAX_S,
    TOP_CHANGE_MAX_PCT,
    TOP_CHANGE_MIN_PCT,
    WAVE_WEEKS_MAX,
    WEEKS_MAX,
)
from programs.prescription.document_values import DocumentDecimal, DocumentPart, SlotKey, TemplateKey
from programs.prescription.progression_rules import LoadChange, StepPace, Targets
from programs.prescription.vocabulary import Phase

_ChangePct = Annotated[DocumentDecimal, Field(ge=-PERCENT, le=PERCENT)]
_WeekNumber = Annotated[StrictInt, Field(ge=1, le=WEEKS_MAX)]
_Every = Annotated[StrictInt, Field(ge=1, le=WEEKS_MAX)]


class _TargetedPart(DocumentPart):
    """A rule for some slots and sessions, or for all."""

    slot_keys: Annotated[list[SlotKey], Field(max_length=PROGRESSION_TARGETS_MAX)] = []
    template_keys: Annotated[list[TemplateKey], Field(max_length=PROGRESSION_TARGETS_MAX)] = []

    def targets(self) -> Targets:
        """Give the targets."""
        return Targets(slot_keys=tuple(self.slot_keys), template_keys=tuple(self.template_keys))


class _PacedPart(_TargetedPart):
    """A rule that steps."""

    every_weeks: _Every = 1
    from_week: Annotated[StrictInt, Field(ge=2, le=WEEKS_MAX)] | None = None
    to_week: _WeekNumber | None = None

    @model_validator(mode="after")
    def _weeks_in_order(self) -> Self:
        first = self.from_week if self.from_week is not None else 1 + self.every_weeks
        if self.to_week is not None and self.to_week < first:
            raise PydanticCustomError(
                "weeks_order", "Make to_week at least {first}, the week of the first step.", {"first": first}
            )
        return self

    def pace(self) -> StepPace:
        """Give when it steps."""
        return StepPace(every_weeks=self.every_weeks, from_week=self.from_week, to_week=self.to_week)


class _ChangingPart(_PacedPart):
    """A rule that changes a written load."""

    step_kg: Annotated[DocumentDecimal, Field(ge=-LOAD_MAX_KG, le=LOAD_MAX_KG)] | None = None
    step_lb: Annotated[DocumentDecimal, Field(ge=-LOAD_MAX_LB, le=LOAD_MAX_LB)] | None = None
    step_pct: _ChangePct | None = None

    @model_validator(mode="after")
    def _one_step(self) -> Self:
        if sum(step is not None for step in (self.step_kg, self.step_lb, self.step_pct)) != 1:
            raise PydanticCustomError("one_step", "Give one of step_kg, step_lb and step_pct.")
        return self

    def change(self) -> LoadChange:
        """Give the change of the load."""
        if self.step_pct is not None:
            return LoadChange(pct=self.step_pct)
        if self.step_lb is not None:
            return LoadChange(amount=self.step_lb, unit="lb")
        return LoadChange(amount=self.step_kg)


class LoadStepPart(_ChangingPart):
    """A load step."""

    kind: Literal["load_step"]


class DoubleProgressionPart(_ChangingPart):
    """Repetitions first, then load."""

    kind: Literal["double_progression"]
    reps_high: Annotated[StrictInt, Field(ge=2, le=REPS_MAX)]
    step_reps: Annotated[StrictInt, Field(ge=1, le=REPS_MAX)] = 1


class PercentRulePart(_PacedPart):
    """Percentages of a reference load."""

    kind: Literal["percent"]
    step_pct: _ChangePct | None = None
    pcts: Annotated[
        list[Annotated[DocumentDecimal, Field(ge=PERCENT_MIN_PCT, le=PERCENT_MAX_PCT)]], Field(max_length=WEEKS_MAX)
    ] = []

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.step_pct is None) == (not self.pcts):
            raise PydanticCustomError("one_step", "Give either step_pct or pcts.")
        return self


class RepetitionStepPart(_PacedPart):
    """A step of repetitions."""

    kind: Literal["reps_step"]
    step_reps: Annotated[StrictInt, Field(ge=-REPS_MAX, le=REPS_MAX)]
    limit_reps: Annotated[StrictInt, Field(ge=1, le=REPS_MAX)] | None = None


class SetStepPart(_PacedPart):
    """A step of sets."""

    kind: Literal["set_step"]
    step_sets: Annotated[StrictInt, Field(ge=-SET_COUNT_MAX, le=SET_COUNT_MAX)]
    limit_sets: Annotated[StrictInt, Field(ge=1, le=SET_COUNT_MAX)] | None = None


class RestStepPart(_PacedPart):
    """A step of rest."""

    kind: Literal["rest_step"]
    step_s: Annotated[StrictInt, Field(ge=-REST_MAX_S, le=REST_MAX_S)]
    limit_s: Annotated[StrictInt, Field(ge=0, le=REST_MAX_S)] | None = None


class TempoStepPart(_PacedPart):
    """A step of one phase of the tempo."""

    kind: Literal["tempo_step"]
    phase: Phase
    step_s: Annotated[StrictInt, Field(ge=-TEMPO_PART_MAX_S, le=TEMPO_PART_MAX_S)]
    limit_s: Annotated[StrictInt, Field(ge=0, le=TEMPO_PART_MAX_S)] | None = None


class WaveWeekPart(DocumentPart):
    """A week of a wave."""

    load_pct: _ChangePct = Decimal(0)
    reps: Annotated[StrictInt, Field(ge=-REPS_MAX, le=REPS_MAX)] = 0
    sets: Annotated[StrictInt, Field(ge=-SET_COUNT_MAX, le=SET_COUNT_MAX)] = 0


class WavePart(_TargetedPart):
    """Waves."""

    kind: Literal["wave"]
    weeks: Annotated[list[WaveWeekPart], Field(min_length=1, max_length=WAVE_WEEKS_MAX - 1)]


class DeloadPart(DocumentPart):
    """A deload every so many weeks."""

    kind: Literal["deload"]
    every_weeks: Annotated[StrictInt, Field(ge=DELOAD_EVERY_MIN_WEEKS, le=WEEKS_MAX)]
    sets_pct: Annotated[DocumentDecimal, Field(gt=0, le=PERCENT)] = DELOAD_SETS_PCT
    load_pct: Annotated[DocumentDecimal, Field(ge=TOP_CHANGE_MIN_PCT, le=TOP_CHANGE_MAX_PCT)] = DELOAD_LOAD_PCT
    rounds_pct: Annotated[DocumentDecimal, Field(gt=0, le=PERCENT)] | None = None


RulePart = (
    LoadStepPart
    | DoubleProgressionPart
    | PercentRulePart
    | RepetitionStepPart
    | SetStepPart
    | RestStepPart
    | TempoStepPart
    | WavePart
    | DeloadPart
)

RULE_PARTS: Final[dict[str, type[DocumentPart]]] = {
    "load_step": LoadStepPart,
    "double_progression": DoubleProgressionPart,
    "percent": PercentRulePart,
    "reps_step": RepetitionStepPart,
    "set_step": SetStepPart,
    "rest_step": RestStepPart,
    "tempo_step": TempoStepPart,
    "wave": WavePart,
    "deload": DeloadPart,
}
"""The document part of each kind of rule. Practice."""
