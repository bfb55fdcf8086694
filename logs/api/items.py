"""The items of a log batch as they are sent: one model per kind; whatever else they say is refused.

Strict: a number is a number, not text that looks like one. Numbers keep the decimal digits they were sent
with: the shortest text of a double is what was written, up to 15 digits.
"""

from datetime import UTC, date, datetime
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from programs.prescription.vocabulary import LoadBasis, SetKind

_LINE = r"^[^\x00-\x1f\x7f]*$"
_PROSE = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*$"
MAX_ABS_LOAD = 10_000
"""A load over this many kg or lb is a slip of the finger. Practice."""

Name = Annotated[str, Field(min_length=1, max_length=120, pattern=_LINE)]
Short = Annotated[str, Field(max_length=60, pattern=_LINE)]
Reason = Annotated[str, Field(max_length=200, pattern=_LINE)]
Prose = Annotated[str, Field(max_length=4000, pattern=_PROSE)]
Date = Annotated[date, Field(ge=date(1970, 1, 1))]
Instant = Annotated[AwareDatetime, Field(ge=datetime(1970, 1, 1, tzinfo=UTC), lt=datetime(2200, 1, 1, tzinfo=UTC))]
Amount = Annotated[float, Field(ge=0, lt=100_000)]
Load = Annotated[float, Field(gt=-MAX_ABS_LOAD, lt=MAX_ABS_LOAD)]
Exertion = Annotated[float, Field(ge=0, le=10)]
Score = Annotated[int, Field(ge=1, le=7)]
Phase = Annotated[float, Field(ge=0, le=600)]


class _Sent(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class LogItem(_Sent):
    """What every item carries; its identity is the source, the client and `external_id`."""

    external_id: Name = Field(description="The sender's own id of this item.")
    client: Name = Field(description="The client's id.")
    revision: Annotated[int, Field(ge=0, lt=2**31)] = Field(
        default=0, description="A higher one replaces; without it the later arrival does."
    )
    symptoms: Annotated[list[Short], Field(max_length=21)] = Field(
        default_factory=list, description="Codes of red-flag symptoms."
    )
    notes: Prose = ""


class SessionLogItem(LogItem):
    """A session performed. Without `local_date` it belongs to the date of `started_at` in the client's zone."""

    planned_session: Name | None = Field(
        default=None, description="Left out: the open planned session of that client and date."
    )
    local_date: Date | None = None
    started_at: Instant | None = None
    finished_at: Instant | None = None
    duration_min: Annotated[float, Field(gt=0, le=1440)] | None = None
    session_rpe: Exertion | None = Field(default=None, description="Of the whole session, 0 to 10.")
    cut_reason: Reason = ""
    place: Name | None = Field(
        default=None,
        description="The id of the client's place where it was done: stacks and plate-loaded machines of two places "
        "are not compared.",
    )
    minutes_confirmed: bool = Field(
        default=False, description="That minutes over 180, or over twice the planned, are right; else they are unknown."
    )


class SegmentItem(_Sent):
    """A part of a cluster, rest-pause or drop set, with its load where that differs from the set's."""

    reps: Annotated[int, Field(ge=0, le=1000)]
    load_kg: Load | None = None
    load_lb: Load | None = None
    rest_before_s: Amount | None = None


class PhasesItem(_Sent):
    """Seconds of one repetition by phase, as a device or video measured them."""

    eccentric: Phase | None = None
    lengthened: Phase | None = None
    concentric: Phase | None = None
    shortened: Phase | None = None


class SwapItem(_Sent):
    """That another exercise was planned in this slot, and why it was swapped."""

    from_exercise: Name = Field(alias="from", description="The planned exercise's id or key.")
    reason: Reason = ""


class SetLogItem(LogItem):
    """A set performed, of a session named by `session_external_id` (of the same source) or `session_log`."""

    session_external_id: Name | None = None
    session_log: Name | None = None
    exercise: Name = Field(description="The exercise's id or key.")
    slot: Annotated[str, Field(max_length=20, pattern=_LINE)] = ""
    set_number: Annotated[int, Field(ge=1, le=200)]
    kind: SetKind = "work"
    side: Literal["both", "left", "right"] = "both"
    reps: Annotated[int, Field(ge=0, le=1000)] | None = None
    duration_s: Annotated[float, Field(ge=0, lt=86_400)] | None = None
    distance_m: Annotated[float, Field(ge=0, lt=1_000_000)] | None = None
    calories_kcal: Annotated[float, Field(ge=0, lt=10_000)] | None = None
    rounds: Annotated[float, Field(ge=0, lt=1_000)] | None = None
    segments: Annotated[list[SegmentItem], Field(min_length=2, max_length=20)] | None = None
    load_kg: Load | None = None
    load_lb: Load | None = None
    load_basis: LoadBasis | None = Field(default=None, description="Left out: the exercise's own.")
    machine: Short = ""
    rpe: Exertion | None = None
    in_reserve: Annotated[float, Field(ge=0, le=50)] | None = None
    tempo: Annotated[str, Field(max_length=16, pattern=_LINE)] = Field(
        default="", description="The tempo performed, such as 41X1."
    )
    phase_s: PhasesItem | None = None
    phase_source: Literal["device", "video"] | None = None
    outcome: Literal["done", "failed", "skipped"] = "done"
    swapped: SwapItem | None = None


class PainItem(_Sent):
    """A pain: where, how bad from 0 to 10, with what, and when."""

    site: Annotated[str, Field(max_length=40, pattern=r"^[a-z][a-z_]*$")]
    side: Literal["left", "right", "both", ""] = ""
    score: Annotated[int, Field(ge=0, le=10)]
    exercise: Name | None = Field(default=None, description="The exercise's id or key.")
    when: Literal["during", "after", "next_morning"] = "during"
    onset: Literal["new", "known"] = "known"
    sharp: bool = False


class CheckInItem(LogItem):
    """How a person says they are. The four scales run 1 to 7, and higher is worse."""

    local_date: Date
    sleep: Score | None = None
    fatigue: Score | None = None
    stress: Score | None = None
    soreness: Score | None = None
    pains: Annotated[list[PainItem], Field(max_length=20)] = Field(default_factory=list)
    bodyweight_kg: Annotated[float, Field(gt=0, lt=1000)] | None = None
    bodyweight_lb: Annotated[float, Field(gt=0, lt=2000)] | None = None
    resting_hr_bpm: Annotated[int, Field(ge=20, le=250)] | None = None
    hrv_rmssd_ms: Annotated[float, Field(ge=0, lt=1000)] | None = None
    form: Name | None = Field(default=None, description="The id of the business's form that `answers` are to.")
    form_version: Annotated[int, Field(ge=1, lt=2**31)] | None = Field(
        default=None, description="Left out: the newest version that the answers fit."
    )
    answers: Annotated[dict[str, Any], Field(max_length=60)] = Field(
        default_factory=dict,
        description="By question: a whole number for a scale, a number, a choice, or text. Leave out what was not "
        "answered.",
    )


class LogBatchBody(_Sent):
    """A log batch: up to 5,000 items of any kind."""

    source: Annotated[str, Field(min_length=1, max_length=60, pattern=_LINE)] | None = Field(
        default=None, description="What the items are filed under; a key's own source is fixed."
    )
    session_logs: list[SessionLogItem] = Field(default_factory=list)
    set_logs: list[SetLogItem] = Field(default_factory=list)
    check_ins: list[CheckInItem] = Field(default_factory=list)


def fields_of(item: LogItem) -> dict[str, Any]:
    """Return an item's fields as the actions take them."""
    fields = item.__dict__
    if type(item) is SetLogItem:
        _plain_set(fields)
    elif type(item) is CheckInItem:
        fields["pains"] = [dict(pain.__dict__) for pain in item.pains]
    return fields


def _plain_set(fields: dict[str, Any]) -> None:
    if fields["segments"] is not None:
        fields["segments"] = [dict(segment.__dict__) for segment in fields["segments"]]
    if fields["phase_s"] is not None:
        fields["phase_s"] = {
            phase: seconds for phase, seconds in fields["phase_s"].__dict__.items() if seconds is not None
        }
    if fields["phase_source"] is None:
        fields["phase_source"] = ""
    if fields["swapped"] is not None:
        swap = fields["swapped"].__dict__
        fields["swapped"] = {"from": swap["from_exercise"], "reason": swap["reason"]}
