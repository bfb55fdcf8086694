"""The rules by which a version's first week becomes its later ones.

Every rule leaves week 1 as it is written. A rule steps on working weeks only: deload weeks are not counted. It
applies to working sets, in the slots and sessions that it names, or everywhere where it names none.
"""

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from programs.prescription.constants import DELOAD_LOAD_PCT, DELOAD_SETS_PCT
from programs.prescription.vocabulary import LoadUnit, Phase


@dataclass(frozen=True, slots=True, kw_only=True)
class Targets:
    """Which slots and sessions a rule is for; empty names all."""

    slot_keys: tuple[str, ...] = ()
    template_keys: tuple[str, ...] = ()

    def hold(self, template_key: str, slot_key: str) -> bool:
        """Say whether a slot of a session is meant."""
        in_session = not self.template_keys or template_key in self.template_keys
        return in_session and (not self.slot_keys or slot_key in self.slot_keys)


@dataclass(frozen=True, slots=True, kw_only=True)
class StepPace:
    """When a rule steps: first in ``from_week`` (1 + ``every_weeks`` if None), then every so many working weeks.

    After ``to_week`` what was reached stays.
    """

    every_weeks: int = 1
    from_week: int | None = None
    to_week: int | None = None

    def steps(self, week_number: int, deload_weeks: Collection[int]) -> int:
        """Give the steps taken by a week, that week's own included."""
        first = 1 + self.every_weeks if self.from_week is None else self.from_week
        last = week_number if self.to_week is None else min(week_number, self.to_week)
        working = sum(week not in deload_weeks for week in range(max(first, 2), last + 1))
        return 0 if working <= 0 else (working - 1) // self.every_weeks + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadChange:
    """A change of a written load: an amount in one unit, or ``pct`` of week 1's load. Exactly one is set."""

    amount: Decimal | None = None
    unit: LoadUnit = "kg"
    pct: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadStep:
    """Written loads rise by a change each step."""

    change: LoadChange
    targets: Targets = Targets()
    pace: StepPace = StepPace()


@dataclass(frozen=True, slots=True, kw_only=True)
class PercentRule:
    """Percentages of a reference: ``step_pct`` points each step, or ``pcts`` for the working weeks after the first.

    The last of ``pcts`` stays for the weeks that follow.
    """

    step_pct: Decimal | None = None
    pcts: tuple[Decimal, ...] = ()
    targets: Targets = Targets()
    pace: StepPace = StepPace()


@dataclass(frozen=True, slots=True, kw_only=True)
class RepetitionStep:
    """Repetitions change by ``step_reps`` each step, as far as ``limit_reps``."""

    step_reps: int
    limit_reps: int | None = None
    targets: Targets = Targets()
    pace: StepPace = StepPace()


@dataclass(frozen=True, slots=True, kw_only=True)
class SetStep:
    """Working sets of a slot change by ``step_sets`` each step, as far as ``limit_sets``; the last group takes them."""

    step_sets: int
    limit_sets: int | None = None
    targets: Targets = Targets()
    pace: StepPace = StepPace()


@dataclass(frozen=True, slots=True, kw_only=True)
class RestStep:
    """Written rests change by ``step_s`` each step, as far as ``limit_s``."""

    step_s: int
    limit_s: int | None = None
    targets: Targets = Targets()
    pace: StepPace = StepPace()


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoStep:
    """One phase of the tempo changes by ``step_s`` each step, as far as ``limit_s``."""

    phase: Phase
    step_s: int
    limit_s: int | None = None
    targets: Targets = Targets()
    pace: StepPace = StepPace()


@dataclass(frozen=True, slots=True, kw_only=True)
class WaveWeek:
    """What a week of a wave changes from the wave's first week: load in percent of it, repetitions and sets added."""

    load_pct: Decimal = Decimal(0)
    reps: int = 0
    sets: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wave:
    """Working weeks in waves: the first of each as the other rules leave it, the next as ``weeks`` change it."""

    weeks: tuple[WaveWeek, ...]
    targets: Targets = Targets()


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubleProgression:
    """Repetitions rise each step up to ``reps_high``; the next step takes them back to week 1's, and the load up."""

    reps_high: int
    change: LoadChange
    step_reps: int = 1
    targets: Targets = Targets()
    pace: StepPace = StepPace()


@dataclass(frozen=True, slots=True, kw_only=True)
class Deload:
    """Every so many weeks one week keeps ``sets_pct`` of the sets, changes the load by ``load_pct``, and is marked.

    ``rounds_pct`` is kept of the rounds or minutes of blocks that repeat their slots; None keeps them all.
    """

    every_weeks: int
    sets_pct: Decimal = DELOAD_SETS_PCT
    load_pct: Decimal = DELOAD_LOAD_PCT
    rounds_pct: Decimal | None = None

    def weeks(self, last_week: int) -> frozenset[int]:
        """Give the deload weeks among weeks 1 to ``last_week``."""
        return frozenset(range(self.every_weeks, last_week + 1, self.every_weeks))


SteppedRule = LoadStep | PercentRule | RepetitionStep | SetStep | RestStep | TempoStep | DoubleProgression
ProgressionRule = SteppedRule | Wave | Deload
