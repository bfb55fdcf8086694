"""What a client's week is computed from: the facts, as plain values.

Units stand in the names; kilograms are exact Decimals; deleted logs are left out before facts are made.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Literal

from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.strength import TempoClass
from programs.prescription.session_states import State
from programs.prescription.tempo import Tempo
from programs.prescription.vocabulary import LoadBasis, Loading, Measure, Phase, RestfulEnd, SetKind

Side = Literal["both", "left", "right"]
Outcome = Literal["done", "failed", "skipped"]


class FactsError(ValueError):
    """Facts that do not belong to the week they were given for."""

    code = "invalid_facts"


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftedExercise:
    """What the week needs to know of an exercise; a muscle that is both primary and secondary counts as primary."""

    key: str
    primary_muscles: tuple[str, ...] = ()
    secondary_muscles: tuple[str, ...] = ()
    bodyweight_share: Decimal = Decimal(0)
    loading: Loading = "none"
    measure: Measure = "reps"
    restful_end: RestfulEnd = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class SegmentFact:
    """A part of a set: its repetitions, and its load where that differs from the set's."""

    reps: int
    load_kg: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedFact:
    """What the plan asks of a set.

    Attributes:
        tempo: The tempo; None where none is asked.
        reps: The fewest repetitions, of one side; None where none are counted.
        sides: 2 where each side does them, else 1.
        load_kg: The load in its basis; None where only the day tells.
    """

    tempo: Tempo | None = None
    reps: int | None = None
    sides: int = 1
    load_kg: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SetFact:
    """A set performed.

    Attributes:
        session_id: Which session log it belongs to.
        local_date: That session's local date.
        exercise: What was done.
        set_number: Its number in the slot; the left and the right of one number are one set.
        kind: What sort of set it was.
        slot_key: The slot it was prescribed in; empty for none.
        side: `both`, `left` or `right`.
        outcome: `done`, `failed` (what was done counts) or `skipped` (nothing counts).
        reps: Repetitions done; None for holds, carries and machines. Ignored where there are segments.
        segments: Parts of a cluster, rest-pause or drop set, in order.
        load_kg: The load in its basis; negative for assistance; None when none was given.
        load_basis: What the load means.
        machine: Which machine; empty for none.
        place: Where the session was done; empty for unknown.
        rpe: Exertion as entered, 0 to 10; None unless it was entered.
        in_reserve: Repetitions in reserve as entered; None unless they were entered.
        tempo_class: The class of the tempo it was performed at.
        tempo: The tempo that the log says; None when it says none.
        duration_s: Seconds of the whole set; None when not given.
        phase_s: Mean seconds of a repetition by phase, as far as a device or video measured them.
        asked: What the plan asks of this very set; None when no plan does.
        slot_planned: Whether the plan has the slot at all.
        swapped: Whether another exercise was planned in the slot.
    """

    session_id: str
    local_date: date
    exercise: LiftedExercise
    set_number: int
    kind: SetKind = "work"
    slot_key: str = ""
    side: Side = "both"
    outcome: Outcome = "done"
    reps: int | None = None
    segments: tuple[SegmentFact, ...] = ()
    load_kg: Decimal | None = None
    load_basis: LoadBasis = "total"
    machine: str = ""
    place: str = ""
    rpe: Decimal | None = None
    in_reserve: Decimal | None = None
    tempo_class: TempoClass = "unspecified"
    tempo: Tempo | None = None
    duration_s: Decimal | None = None
    phase_s: Mapping[Phase, Decimal] = field(default_factory=dict)
    asked: AskedFact | None = None
    slot_planned: bool = False
    swapped: bool = False

    @property
    def tempo_asked(self) -> Tempo | None:
        """The tempo that it is held to: its own where the log says one, else the plan's."""
        return self.tempo or (None if self.asked is None else self.asked.tempo)


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFact:
    """A session performed.

    Attributes:
        session_id: The session log.
        local_date: The local date it belongs to.
        session_rpe: Rating of the whole session, 0 to 10; None when not given.
        duration_min: Minutes as declared; None when not given.
        started_at: Start on the clock; None when not given.
        finished_at: Finish on the clock; None when not given.
        planned_high_min: High time of the planned session; None for an extra session.
        minutes_confirmed: Somebody confirmed minutes that looked too long.
    """

    session_id: str
    local_date: date
    session_rpe: Decimal | None = None
    duration_min: Decimal | None = None
    started_at: datetime | None = None
    finished_at: datetime | None = None
    planned_high_min: Decimal | None = None
    minutes_confirmed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedFact:
    """A session planned in the week, wherever it was performed.

    Attributes:
        local_date: The date that it is planned for.
        state: Where it stands.
        planned_work_sets: Work sets planned.
        done_work_sets: Work sets logged for it.
        planned_reps: The fewest repetitions of its work sets, both sides, as far as they are counted.
        deload: It is of a deload week.
        sets: The sets logged for it, of whatever week.
    """

    local_date: date
    state: State
    planned_work_sets: int = 0
    done_work_sets: int = 0
    planned_reps: int = 0
    deload: bool = False
    sets: tuple[SetFact, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckInFact:
    """A check-in of the week. The four items run 1 to 7, higher is worse; None is not answered."""

    local_date: date
    sleep: int | None = None
    fatigue: int | None = None
    stress: int | None = None
    soreness: int | None = None
    bodyweight_kg: Decimal | None = None
    resting_hr_bpm: int | None = None
    hrv_rmssd_ms: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighIn:
    """A bodyweight on a local date."""

    local_date: date
    bodyweight_kg: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekFacts:
    """Everything that one client's week is computed from.

    Attributes:
        week_start: The first day of the business week.
        sets: Sets performed in the week.
        sessions: Sessions performed in the week.
        planned: Sessions planned in the week.
        check_ins: Check-ins of the week.
        earlier_weigh_ins: Weigh-ins of the 28 days before the week.

    Raises:
        FactsError: A fact is dated outside its span.
    """

    week_start: date
    sets: tuple[SetFact, ...] = ()
    sessions: tuple[SessionFact, ...] = ()
    planned: tuple[PlannedFact, ...] = ()
    check_ins: tuple[CheckInFact, ...] = ()
    earlier_weigh_ins: tuple[WeighIn, ...] = ()

    def __post_init__(self) -> None:
        """Refuse facts of another week: a row must follow from its own week alone."""
        days = frozenset(self.days)
        dated = (self.sets, self.sessions, self.planned, self.check_ins)
        for local_date in (fact.local_date for facts in dated for fact in facts):
            if local_date not in days:
                raise FactsError(f"{local_date} is not in the week of {self.week_start}; leave it to its own.")
        if any(weigh_in.local_date >= self.week_start for weigh_in in self.earlier_weigh_ins):
            raise FactsError(f"Earlier weigh-ins are from before {self.week_start}; the week's own are its check-ins.")

    @property
    def days(self) -> tuple[date, ...]:
        """The seven local dates of the week."""
        return tuple(self.week_start + timedelta(days=offset) for offset in range(DAYS_PER_WEEK))

    @property
    def weigh_ins(self) -> tuple[WeighIn, ...]:
        """Every weigh-in, the week's own and the earlier ones."""
        own = (
            WeighIn(local_date=check_in.local_date, bodyweight_kg=check_in.bodyweight_kg)
            for check_in in self.check_ins
            if check_in.bodyweight_kg is not None
        )
        return (*self.earlier_weigh_ins, *own)
