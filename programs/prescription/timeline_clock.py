"""The running clock of a simulated session: what happens when, in a low and in a high reading.

The low reading takes the fewer repetitions of every range, the high reading the more. Both pass through the same
events in the same order.
"""

from dataclasses import dataclass, field
from typing import Literal

from programs.prescription.structure import ExerciseFacts, SetGroup, Slot
from programs.prescription.vocabulary import SetKind

EventKind = Literal[
    "ramp",
    "entry",
    "work",
    "rest_inside",
    "change_sides",
    "rest",
    "change_station",
    "between_blocks",
    "rounds",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One stretch of time in a session.

    ``low_s`` and ``high_s`` are its seconds in the two readings. ``whole_low`` and ``whole_high`` are False where
    a block's clock ran out before it ended. ``assumed`` marks a time that the prescription does not say.
    """

    kind: EventKind
    block_index: int
    start_low_s: int
    start_high_s: int
    low_s: int
    high_s: int
    slot_key: str | None = None
    set_number: int | None = None
    set_kind: SetKind | None = None
    counts_as_work: bool = False
    whole_low: bool = True
    whole_high: bool = True
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSet:
    """One set in the order of performing, with what is needed to time it."""

    slot: Slot
    facts: ExerciseFacts
    group: SetGroup
    set_number: int


@dataclass(slots=True)
class Clock:
    """Collects events and keeps both readings' time. One clock runs through a whole session."""

    block_index: int = 0
    low_s: int = 0
    high_s: int = 0
    stop_low_s: int | None = None
    stop_high_s: int | None = None
    events: list[Event] = field(default_factory=list)

    def stop_after(self, seconds: int) -> None:
        """Let no event of this block run past ``seconds`` from now, in either reading."""
        self.stop_low_s = self.low_s + seconds
        self.stop_high_s = self.high_s + seconds

    def run_on(self) -> None:
        """Take the stop away."""
        self.stop_low_s = self.stop_high_s = None

    @property
    def left_low_s(self) -> int:
        """Seconds before the stop in the low reading; 0 without one."""
        return 0 if self.stop_low_s is None else self.stop_low_s - self.low_s

    @property
    def left_high_s(self) -> int:
        """Seconds before the stop in the high reading; 0 without one."""
        return 0 if self.stop_high_s is None else self.stop_high_s - self.high_s

    def add(
        self,
        kind: EventKind,
        low_s: int,
        high_s: int | None = None,
        *,
        planned: PlannedSet | None = None,
        assumed: bool = False,
    ) -> None:
        """Put an event at the end; one without time in either reading is left out, unless it is work cut off."""
        wanted_high_s = low_s if high_s is None else high_s
        took_low_s = low_s if self.stop_low_s is None else min(low_s, self.left_low_s)
        took_high_s = wanted_high_s if self.stop_high_s is None else min(wanted_high_s, self.left_high_s)
        if took_low_s or took_high_s or kind == "work":
            self.events.append(
                Event(
                    kind=kind,
                    block_index=self.block_index,
                    start_low_s=self.low_s,
                    start_high_s=self.high_s,
                    low_s=took_low_s,
                    high_s=took_high_s,
                    slot_key=planned.slot.slot_key if planned else None,
                    set_number=planned.set_number if planned else None,
                    set_kind=planned.group.kind if planned else None,
                    counts_as_work=planned is not None and planned.group.counts_as_work,
                    whole_low=took_low_s == low_s,
                    whole_high=took_high_s == wanted_high_s,
                    assumed=assumed,
                )
            )
        self.low_s += took_low_s
        self.high_s += took_high_s
