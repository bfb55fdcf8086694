"""The shapes of a prescription's JSON document, field by field (pydantic).

Only shape and limits stand here: what makes a well-shaped document impossible to perform is in
`programs.prescription.document_rules`.
"""

from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StrictBool, StrictInt
from pydantic_core import PydanticCustomError

from programs.prescription.constants import (
    ASSISTANCE_MAX_KG,
    ASSISTANCE_MAX_LB,
    BAND_MAX_CHARACTERS,
    BLOCKS_MAX,
    CALORIES_MAX_KCAL,
    DAYS_MAX,
    DISTANCE_MAX_M,
    DURATION_MAX_S,
    EFFORT_STEP,
    EVERY_MAX_S,
    EVERY_MIN_S,
    IN_RESERVE_MAX,
    KEY_MAX_CHARACTERS,
    LABEL_MAX_CHARACTERS,
    LOAD_MAX_KG,
    LOAD_MAX_LB,
    NOTES_MAX_CHARACTERS,
    PERCENT_MAX_PCT,
    PERCENT_MIN_PCT,
    PROGRESSION_RULES_MAX,
    REPS_MAX,
    REST_MAX_S,
    ROUNDS_MAX,
    RPE_MAX,
    RPE_MIN,
    SEGMENTS_MAX,
    SESSION_MAX_MIN,
    SET_COUNT_MAX,
    SET_GROUPS_MAX,
    SLOTS_MAX,
    TITLE_MAX_CHARACTERS,
    TOP_CHANGE_MAX_PCT,
    TOP_CHANGE_MIN_PCT,
    WEEKS_MAX,
)
from programs.prescription.document_values import DocumentDecimal, DocumentPart, DocumentText, SlotKey, TemplateKey
from programs.prescription.progression_fields import RulePart
from programs.prescription.tempo import Tempo, TempoError, parse_tempo
from programs.prescription.vocabulary import BlockKind, Goal, Reference, SetKind


def _effort(value: Decimal) -> Decimal:
    if value % EFFORT_STEP:
        raise PydanticCustomError("out_of_range", "Say effort in whole or half numbers, such as 8 or 8.5.")
    return value


def _tempo(value: object) -> object:
    if not isinstance(value, str):
        raise PydanticCustomError("wrong_type", "Write the tempo as text, such as 41X1.")
    try:
        return parse_tempo(value)
    except TempoError as error:
        raise PydanticCustomError("tempo", "{sentence}", {"sentence": str(error)}) from error


_Tempo = Annotated[Tempo, BeforeValidator(_tempo)]
_ExerciseKey = Annotated[DocumentText, Field(min_length=1, max_length=KEY_MAX_CHARACTERS)]
_Minutes = Annotated[StrictInt, Field(ge=1, le=SESSION_MAX_MIN)]
_Duration = Annotated[StrictInt, Field(ge=1, le=DURATION_MAX_S)]
_Distance = Annotated[DocumentDecimal, Field(gt=0, le=DISTANCE_MAX_M)]
_Calories = Annotated[StrictInt, Field(ge=1, le=CALORIES_MAX_KCAL)]
_Reps = Annotated[StrictInt, Field(ge=1, le=REPS_MAX)]


class AbsolutePart(DocumentPart):
    """A load in kilograms or pounds."""

    kind: Literal["absolute"]
    load_kg: Annotated[DocumentDecimal, Field(ge=-ASSISTANCE_MAX_KG, le=LOAD_MAX_KG)] | None = None
    load_lb: Annotated[DocumentDecimal, Field(ge=-ASSISTANCE_MAX_LB, le=LOAD_MAX_LB)] | None = None


class BodyweightPart(DocumentPart):
    """Bodyweight alone."""

    kind: Literal["bodyweight"]


class PercentPart(DocumentPart):
    """A percentage of a reference load."""

    kind: Literal["percent"]
    of: Reference
    pct: Annotated[DocumentDecimal, Field(ge=PERCENT_MIN_PCT, le=PERCENT_MAX_PCT)]


class RelativeToTopPart(DocumentPart):
    """A change from the day's top set."""

    kind: Literal["relative_to_top"]
    pct: Annotated[DocumentDecimal, Field(ge=TOP_CHANGE_MIN_PCT, le=TOP_CHANGE_MAX_PCT)]


class SameAsPart(DocumentPart):
    """The load of another slot."""

    kind: Literal["same_as"]
    slot_key: SlotKey


class BandPart(DocumentPart):
    """A band in words."""

    kind: Literal["band"]
    text: Annotated[DocumentText, Field(min_length=1, max_length=BAND_MAX_CHARACTERS)]


LoadPart = AbsolutePart | BodyweightPart | PercentPart | RelativeToTopPart | SameAsPart | BandPart
LOAD_PARTS: Final[dict[str, type[DocumentPart]]] = {
    "absolute": AbsolutePart,
    "bodyweight": BodyweightPart,
    "percent": PercentPart,
    "relative_to_top": RelativeToTopPart,
    "same_as": SameAsPart,
    "band": BandPart,
}
"""The document part of each kind of load. Practice."""


class SegmentPart(DocumentPart):
    """A stretch of a set."""

    reps: _Reps | None = None
    to_limit: StrictBool = False
    rest_before_s: Annotated[StrictInt, Field(ge=0, le=REST_MAX_S)] = 0
    load_change_pct: Annotated[DocumentDecimal, Field(ge=TOP_CHANGE_MIN_PCT, le=TOP_CHANGE_MAX_PCT)] | None = None


class SetGroupPart(DocumentPart):
    """Equal sets."""

    count: Annotated[StrictInt, Field(ge=1, le=SET_COUNT_MAX)] = 1
    kind: SetKind = "work"
    reps_low: _Reps | None = None
    reps_high: _Reps | None = None
    duration_s: _Duration | None = None
    distance_m: _Distance | None = None
    calories_kcal: _Calories | None = None
    to_limit: StrictBool = False
    segments: Annotated[list[SegmentPart], Field(max_length=SEGMENTS_MAX)] = []
    tempo: _Tempo | None = None
    rpe: Annotated[DocumentDecimal, Field(ge=RPE_MIN, le=RPE_MAX), AfterValidator(_effort)] | None = None
    in_reserve: Annotated[DocumentDecimal, Field(ge=0, le=IN_RESERVE_MAX), AfterValidator(_effort)] | None = None
    load: Annotated[LoadPart, Field(discriminator="kind")] | None = None


class SlotPart(DocumentPart):
    """An exercise at its place."""

    slot_key: SlotKey
    exercise: _ExerciseKey
    goal: Goal | None = None
    per_side: StrictBool = False
    rest_s: Annotated[StrictInt, Field(ge=0, le=REST_MAX_S)] | None = None
    notes: Annotated[DocumentText, Field(max_length=NOTES_MAX_CHARACTERS)] = ""
    sets: Annotated[list[SetGroupPart], Field(max_length=SET_GROUPS_MAX)] = []


class EntryPart(DocumentPart):
    """A piece before the rounds."""

    exercise: _ExerciseKey
    duration_s: _Duration | None = None
    distance_m: _Distance | None = None
    calories_kcal: _Calories | None = None


class BlockPart(DocumentPart):
    """Slots performed together."""

    kind: BlockKind
    label: Annotated[DocumentText, Field(max_length=LABEL_MAX_CHARACTERS)] = ""
    slots: Annotated[list[SlotPart], Field(min_length=1, max_length=SLOTS_MAX)]
    rounds: Annotated[StrictInt, Field(ge=1, le=ROUNDS_MAX)] | None = None
    work_s: _Duration | None = None
    off_s: Annotated[StrictInt, Field(ge=0, le=REST_MAX_S)] | None = None
    minutes: _Minutes | None = None
    cap_min: _Minutes | None = None
    entry: EntryPart | None = None
    every_s: Annotated[StrictInt, Field(ge=EVERY_MIN_S, le=EVERY_MAX_S)] | None = None
    rest_between_rounds_s: Annotated[StrictInt, Field(ge=0, le=REST_MAX_S)] | None = None


class SessionPart(DocumentPart):
    """A session on its own, as posted for analysis."""

    title: Annotated[DocumentText, Field(max_length=TITLE_MAX_CHARACTERS)] = ""
    template_key: TemplateKey = "session"
    cap_min: _Minutes | None = None
    blocks: Annotated[list[BlockPart], Field(min_length=1, max_length=BLOCKS_MAX)]


class DayPart(DocumentPart):
    """A session in a week."""

    day_number: Annotated[StrictInt, Field(ge=1, le=DAYS_MAX)]
    template_key: TemplateKey
    title: Annotated[DocumentText, Field(max_length=TITLE_MAX_CHARACTERS)] = ""
    cap_min: _Minutes | None = None
    blocks: Annotated[list[BlockPart], Field(min_length=1, max_length=BLOCKS_MAX)]


class WeekPart(DocumentPart):
    """A week."""

    week_number: Annotated[StrictInt, Field(ge=1, le=WEEKS_MAX)]
    deload: StrictBool = False
    days: Annotated[list[DayPart], Field(max_length=DAYS_MAX)] = []


class VersionPart(DocumentPart):
    """A whole version."""

    weeks: Annotated[list[WeekPart], Field(max_length=WEEKS_MAX)]
    progression: Annotated[
        list[Annotated[RulePart, Field(discriminator="kind")]], Field(max_length=PROGRESSION_RULES_MAX)
    ] = []
