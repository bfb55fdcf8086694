"""The structure of a prescription: weeks, days, sessions, blocks, slots, set groups. Compared by value.

Nothing here is checked for sense beyond types: `programs.prescription.document` refuses what cannot be
performed when it reads a JSON document, and `programs.prescription.analysis` judges the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from programs.prescription.constants import S_PER_MIN
from programs.prescription.phase_words import PhaseWords
from programs.prescription.prescribed_loads import Load
from programs.prescription.progression_rules import ProgressionRule
from programs.prescription.tempo import Tempo
from programs.prescription.vocabulary import (
    UNCOUNTED_SET_KINDS,
    BlockKind,
    End,
    Goal,
    Laterality,
    LoadBasis,
    Loading,
    Measure,
    RestfulEnd,
    SetKind,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """One stretch of a set: of a cluster, a rest-pause or a drop set.

    ``rest_before_s`` is the rest inside the set before this stretch; ``load_change_pct`` the change from the
    first stretch's load (-20 is a fifth less). ``reps`` is None only with ``to_limit``.
    """

    reps: int | None = None
    to_limit: bool = False
    rest_before_s: int = 0
    load_change_pct: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SetGroup:
    """``count`` equal sets. Exactly one measure: repetitions, seconds, metres, kilocalories, or segments.

    ``to_limit`` means until no further repetition is possible; repetitions beside it are a least number.
    ``load`` None means that the load is found by effort.
    """

    count: int = 1
    kind: SetKind = "work"
    reps_low: int | None = None
    reps_high: int | None = None
    duration_s: int | None = None
    distance_m: Decimal | None = None
    calories_kcal: int | None = None
    to_limit: bool = False
    segments: tuple[Segment, ...] = ()
    tempo: Tempo | None = None
    rpe: Decimal | None = None
    in_reserve: Decimal | None = None
    load: Load | None = None

    @property
    def counts_as_work(self) -> bool:
        """Whether the sets count in more than time (warm-up, ramp and technique sets do not)."""
        return self.kind not in UNCOUNTED_SET_KINDS

    @property
    def first_segment_reps(self) -> tuple[int, int] | None:
        """Repetitions, low and high, before any rest or drop inside the set; None where none are counted."""
        if self.segments:
            first = self.segments[0].reps
            return None if first is None else (first, first)
        if self.reps_low is None:
            return None
        return self.reps_low, self.reps_low if self.reps_high is None else self.reps_high


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """An exercise at its place in a block, with its sets in the order they are performed.

    ``rest_s`` None means unsaid: the goal's default is used and marked as assumed.
    """

    slot_key: str
    exercise: str
    goal: Goal | None = None
    per_side: bool = False
    rest_s: int | None = None
    notes: str = ""
    sets: tuple[SetGroup, ...] = ()

    @property
    def set_count(self) -> int:
        """How many sets are listed, of every kind."""
        return sum(group.count for group in self.sets)

    def set_of_round(self, number: int) -> SetGroup:
        """Give the set of a block's round, counted from 1: the one listed, or of as many as there are rounds its own.

        A slot without sets of its own, under a block's clock, has an empty one.
        """
        listed = [group for group in self.sets for _ in range(group.count)]
        return listed[min(number, len(listed)) - 1] if listed else SetGroup()


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A piece done once before a block's rounds: seconds, metres or kilocalories, exactly one."""

    exercise: str
    duration_s: int | None = None
    distance_m: Decimal | None = None
    calories_kcal: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Slots performed together, in one of the trade's forms.

    In a circuit with rounds and in rounds for time a slot lists one set, which every round repeats, or one for each
    round (21, 15 and 9 repetitions). ``every_s`` is the interval of an every-minute block, None the minute itself.
    ``rest_between_rounds_s`` stands in place of the rest after a round's last set, None where nothing is said.
    """

    kind: BlockKind = "straight"
    label: str = ""
    slots: tuple[Slot, ...] = ()
    rounds: int | None = None
    work_s: int | None = None
    off_s: int | None = None
    minutes: int | None = None
    cap_min: int | None = None
    entry: Entry | None = None
    every_s: int | None = None
    rest_between_rounds_s: int | None = None

    @property
    def interval_s(self) -> int:
        """Seconds from the start of one set to the next, where a clock says so."""
        return S_PER_MIN if self.every_s is None else self.every_s

    @property
    def intervals(self) -> int:
        """How many sets an every-minute block starts."""
        if self.minutes is None:
            return (self.rounds or 1) * len(self.slots)
        return self.minutes * S_PER_MIN // self.interval_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """What is done in one visit. ``template_key`` names the session across weeks and versions."""

    title: str = ""
    template_key: str = "session"
    cap_min: int | None = None
    blocks: tuple[Block, ...] = ()

    @property
    def slots(self) -> tuple[Slot, ...]:
        """Every slot, in the order written."""
        return tuple(slot for block in self.blocks for slot in block.slots)


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """A session at its place in a week."""

    day_number: int
    session: Session


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """A week's sessions. A deload week is left out of trends."""

    week_number: int
    deload: bool = False
    days: tuple[Day, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionContent:
    """Everything that a program version prescribes.

    ``progression`` holds the rules that later weeks were expanded by; what is performed is the weeks alone.
    """

    weeks: tuple[Week, ...] = ()
    progression: tuple[ProgressionRule, ...] = ()

    @property
    def exercises(self) -> frozenset[str]:
        """The keys of every exercise named, entry pieces included."""
        sessions = [day.session for week in self.weeks for day in week.days]
        return frozenset(key for session in sessions for key in session_exercises(session))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExerciseFacts:
    """What the computations need to know of an exercise; the meanings are the catalogue's.

    ``starts_at`` is None where a repetition has no phases (holds, carries, machines). ``rests_muscles`` names
    the muscles that a pause at the restful end lets rest. ``repetition_s`` is the usual seconds, where no
    tempo is given, of one repetition (or of one metre or calorie where the exercise is measured so).
    ``bodyweight_share`` runs from 0 to 1.
    """

    key: str
    name: str
    pattern: str
    starts_at: End | None = None
    restful_end: RestfulEnd = "none"
    rests_muscles: tuple[str, ...] = ()
    primary_muscles: tuple[str, ...] = ()
    secondary_muscles: tuple[str, ...] = ()
    laterality: Laterality = "bilateral"
    measure: Measure = "reps"
    phase_words: PhaseWords | None = None
    station: str = ""
    equipment: tuple[str, ...] = field(default=())
    load_basis: LoadBasis = "total"
    loading: Loading = "none"
    bodyweight_share: Decimal = Decimal(0)
    repetition_s: Decimal = Decimal(3)
    complexity: int = 1


def exercises_in_order(session: Session) -> Iterator[str]:
    """Give the key of every exercise that a session names, as often as it does, in the order performed."""
    for block in session.blocks:
        if block.entry is not None:
            yield block.entry.exercise
        yield from (slot.exercise for slot in block.slots)


def session_exercises(session: Session) -> frozenset[str]:
    """Give the keys of every exercise that a session names, entry pieces included."""
    return frozenset(exercises_in_order(session))
