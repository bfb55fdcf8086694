"""What has been read of a line, before lines are put together to blocks."""

from dataclasses import dataclass, field, replace
from decimal import Decimal

from programs.prescription.notation.lexer import Word
from programs.prescription.prescribed_loads import Load
from programs.prescription.structure import Segment, SetGroup
from programs.prescription.tempo import Tempo
from programs.prescription.vocabulary import BlockKind, Goal, SetKind


@dataclass(slots=True)
class Amount:
    """How much one set asks for: one measure, or segments, or several sets' repetitions one after the other."""

    reps_low: int | None = None
    reps_high: int | None = None
    duration_s: int | None = None
    distance_m: Decimal | None = None
    calories_kcal: int | None = None
    to_limit: bool = False
    segments: tuple[Segment, ...] = ()
    ladder: tuple[int, ...] = ()


@dataclass(slots=True)
class Detail:
    """What is said about sets beside their amount."""

    tempo: Tempo | None = None
    rpe: Decimal | None = None
    in_reserve: Decimal | None = None
    load: Load | None = None


@dataclass(slots=True)
class SetsDraft:
    """Equal sets as read. ``last`` is what the last of them asks for, where that is said apart."""

    count: int = 1
    kind: SetKind = "work"
    amount: Amount = field(default_factory=Amount)
    detail: Detail = field(default_factory=Detail)
    last: Amount | None = None

    def groups(self, common: Detail) -> list[SetGroup]:
        """Give the sets as groups, with what was said before all sets filled in."""
        whole = self._group(self.amount, self._filled(common))
        if self.last is None:
            return [whole]
        apart = replace(self._group(self.last, self._filled(common)), count=1)
        return [apart] if self.count == 1 else [replace(whole, count=self.count - 1), apart]

    def _filled(self, common: Detail) -> Detail:
        own = self.detail
        unsaid = own.rpe is None and own.in_reserve is None
        return Detail(
            tempo=common.tempo if own.tempo is None else own.tempo,
            rpe=common.rpe if unsaid else own.rpe,
            in_reserve=common.in_reserve if unsaid else own.in_reserve,
            load=common.load if own.load is None else own.load,
        )

    def _group(self, amount: Amount, detail: Detail) -> SetGroup:
        # A set to the limit leaves nothing over: an effort said of the sets before it is not its own.
        at_limit = amount is self.last and amount.to_limit
        return SetGroup(
            count=self.count,
            kind=self.kind,
            reps_low=amount.reps_low,
            reps_high=amount.reps_high,
            duration_s=amount.duration_s,
            distance_m=amount.distance_m,
            calories_kcal=amount.calories_kcal,
            to_limit=amount.to_limit,
            segments=amount.segments,
            tempo=detail.tempo,
            rpe=None if at_limit else detail.rpe,
            in_reserve=None if at_limit else detail.in_reserve,
            load=detail.load,
        )


@dataclass(slots=True)
class Timing:
    """How a block is timed, as its header or an exercise's own line says."""

    kind: BlockKind
    rounds: int | None = None
    work_s: int | None = None
    off_s: int | None = None
    minutes: int | None = None
    every_s: int | None = None
    ladder: tuple[int, ...] = ()
    """The repetitions of each round, where the header says them."""
    counted: bool = True
    """Whether the number of rounds is written."""


@dataclass(slots=True)
class SlotDraft:
    """An exercise's line as read.

    ``key`` is None where the line has no label of its own. ``spoilt`` says that not all of the line was read, so that
    its sets may be missing.
    """

    line: int
    column: int
    key: str | None = None
    name: Word | None = None
    exercise: str = ""
    goal: Goal | None = None
    per_side: bool = False
    rest_s: int | None = None
    round_rest_s: int | None = None
    notes: str = ""
    cap_min: int | None = None
    timing: Timing | None = None
    spoilt: bool = False
    common: Detail = field(default_factory=Detail)
    sets: list[SetsDraft] = field(default_factory=list)

    @property
    def ladder(self) -> tuple[int, ...]:
        """The repetitions of two sets or more that ask for nothing but one number each; empty for any others."""
        reps = [sets.amount.reps_low for sets in self.sets if sets.amount == Amount(reps_low=sets.amount.reps_low)]
        rungs = tuple(number for number in reps if number is not None)
        plain = len(rungs) == len(self.sets) > 1 and all(sets.count == 1 and sets.last is None for sets in self.sets)
        return rungs if plain else ()

    @property
    def groups(self) -> tuple[SetGroup, ...]:
        """The sets in the order they are performed."""
        if not self.sets and not self.spoilt and self.common != Detail():
            return tuple(SetsDraft().groups(self.common))
        return tuple(group for sets in self.sets for group in sets.groups(self.common))


@dataclass(slots=True)
class EntryDraft:
    """A piece before the rounds, as read."""

    exercise: str
    duration_s: int | None = None
    distance_m: Decimal | None = None
    calories_kcal: int | None = None


@dataclass(slots=True)
class BlockDraft:
    """A block as read so far. ``timing`` is None until a header says the kind; then the number of slots decides."""

    line: int
    label: str = ""
    timing: Timing | None = None
    cap_min: int | None = None
    round_rest_s: int | None = None
    entry: EntryDraft | None = None
    slots: list[SlotDraft] = field(default_factory=list)

    def settle(self) -> None:
        """Let each slot have what the header, or the first slot, says of the rounds of all."""
        timing = self.timing
        if timing is None or timing.kind != "rounds_for_time":
            return
        ladder = timing.ladder
        if not timing.counted and not ladder and self.slots:
            ladder = self.slots[0].ladder
            timing.rounds = max(1, len(ladder))
        for slot in self.slots if ladder else ():
            if not slot.sets and not slot.spoilt:
                slot.sets = [SetsDraft(amount=Amount(reps_low=reps)) for reps in ladder]
