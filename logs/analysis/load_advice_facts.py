"""What load advice is made from: what a slot asks for, and what was done at it before.

Loads are in the client's unit and the exercise's own basis; both exact.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from logs.analysis.facts import Outcome, Side
from logs.analysis.strength import Formula, TempoClass
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import LoadUnit, SetKind

TargetKind = Literal["absolute", "percent", "by_effort", "bodyweight"]
HoldCode = Literal["training_held", "movement_held", "no_increase"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadAdvicePolicy:
    """What a business may change about load advice."""

    sessions: int = 2
    """Sessions running at the top of the range, within effort, before the load goes up. Practice."""
    sessions_novice: int = 1
    """The same for clients under six months of training. Practice."""
    least_rise: Decimal = Decimal("0.01")
    """Least rise, as a share of the load moved. Practice (the ACSM 2009 position says 2 to 10 %)."""
    most_rise: Decimal = Decimal("0.10")
    """Rise above which repetitions are added first. Source: ACSM 2009 Med Sci Sports Exerc 41:687-708 (2 to 10 %)."""
    misses: int = 2
    """Sessions running with a miss before the load goes down. Practice."""
    short_reps: int = 2
    """Repetitions under the bottom of the range at which it goes down at once. Practice."""
    miss_cut: Decimal = Decimal("0.05")
    """Share of the load taken off after misses. Practice."""
    effort_miss: Decimal = Decimal(1)
    """Repetitions in reserve by which effort must be off in every session counted. Practice: the steps of the one
    published trial (J Hum Kinet 2024, PMC11057620) are for accessories at one target, so they are not used."""
    to_limit_extra_reps: int = 2
    """Repetitions over the number asked that count as the top of a set to the limit. Source: the 2-for-2 rule of
    strength texts, from memory."""
    estimate_sessions: int = 3
    """Latest sessions whose best estimates give, by their median, the estimate used. Practice."""
    unlifted_hold_days: int = 28
    """Days after which a lift left out while training went on is held at its last load. Practice."""
    unlifted_start_days: int = 84
    """Days after which its last load says nothing any more. Practice."""
    formula: Formula = "epley"
    """The formula of every estimate. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotTarget:
    """What the leading sets of a slot ask for.

    Attributes:
        groups: places of the set groups that share the load, from 0.
        set_numbers: numbers of the leading sets in the slot, from 1, warm-ups counted.
        alone: the slot has no other sets that count.
        sets: how many leading sets.
        reps_low: bottom of the range; None where repetitions are not asked.
        reps_high: top of the range; the bottom where it is no range.
        to_limit: until no further repetition is possible.
        reserve: repetitions in reserve asked; None where effort is not said.
        kind: by what the load is found.
        written: the load as written, to tell one from another; empty where by effort.
        resolved: what it comes to; None where there is no figure.
        from_what: from what it was resolved, or why there is no figure.
        suggestion: what to do where a reference is missing.
        effort_planned: repetitions in reserve planned, where easier ones were accepted after a gap; None where not.
    """

    groups: tuple[int, ...]
    set_numbers: frozenset[int]
    alone: bool
    sets: int
    reps_low: int | None = None
    reps_high: int | None = None
    to_limit: bool = False
    reserve: Decimal | None = None
    kind: TargetKind = "by_effort"
    written: str = ""
    resolved: Decimal | None = None
    from_what: str = ""
    suggestion: str | None = None
    effort_planned: Decimal | None = None

    @property
    def effort_alike(self) -> Decimal | None:
        """The reserve by which loads found by effort are compared: as planned, whatever was accepted for a gap."""
        return self.reserve if self.effort_planned is None else self.effort_planned

    @property
    def range_asked(self) -> tuple[int | None, int | None, bool]:
        """What makes two targets comparable."""
        return self.reps_low, self.reps_high, self.to_limit


@dataclass(frozen=True, slots=True, kw_only=True)
class PerformedSet:
    """A set that counts; `load` in the client's unit, None when none was given; `converted` from the other unit."""

    set_number: int
    kind: SetKind = "work"
    side: Side = "both"
    outcome: Outcome = "done"
    reps: int | None = None
    load: Decimal | None = None
    converted: bool = False
    reserve: Decimal | None = None
    tempo_class: TempoClass = "unspecified"
    machine: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """What was done of an exercise in one slot of one session; `target` None where nothing was planned for it.

    ``version`` is another whenever anything in it is; empty where it is told by the contents.
    """

    session: str
    local_date: date
    sets: tuple[PerformedSet, ...]
    slot_key: str = ""
    deload: bool = False
    place: str = ""
    target: SlotTarget | None = None
    version: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotHold:
    """A hold that bears upon the exercise, with its sentence."""

    code: HoldCode
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadGrid:
    """What can be loaded.

    Attributes:
        unit: the client's unit.
        step: the step in it where the session is done; None for the usual one.
        base: bodyweight moved beside an added load, in that unit; 0 where there is none; None when unknown.
        base_hidden: care hides it, and so every percentage from which it could be told.
    """

    unit: LoadUnit = "kg"
    step: Decimal | None = None
    base: Decimal | None = Decimal(0)
    base_hidden: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AdvisedSlot:
    """A slot of a session to come, and what its advice is made from; `exposures` in any order.

    ``no_test`` says why care lets no test of a maximum be suggested; empty where one may be.
    """

    slot_key: str
    exercise: ExerciseFacts
    target: SlotTarget | None
    day: date
    tempo_class: TempoClass = "unspecified"
    deload: bool = False
    place: str = ""
    novice: bool = False
    grid: LoadGrid = LoadGrid()
    exposures: tuple[Exposure, ...] = ()
    holds: tuple[SlotHold, ...] = ()
    no_test: str = ""
