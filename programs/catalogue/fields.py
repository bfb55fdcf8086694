"""The fields of one exercise of the catalogue."""

from decimal import Decimal
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from programs.catalogue.vocabulary import (
    Equipment,
    Laterality,
    LoadBasis,
    Loading,
    Measure,
    Muscle,
    Pattern,
    Phase,
    RestfulEnd,
    StartingEnd,
    Station,
)

Key = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=64)]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=2, max_length=80)]
PhaseText = Annotated[str, StringConstraints(strip_whitespace=True, min_length=2, max_length=28)]


class PhaseWords(BaseModel):
    """Short plain words for the four phases of one exercise, for display."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    eccentric: PhaseText
    lengthened: PhaseText
    concentric: PhaseText
    shortened: PhaseText

    def in_written_order(self) -> tuple[str, str, str, str]:
        """The four words in the order of a written tempo."""
        return (self.eccentric, self.lengthened, self.concentric, self.shortened)


class ExerciseFields(BaseModel):
    """The fields of an exercise, each valid alone.

    `repetition_s` is the usual seconds of one unit of `measure` without a tempo: of a repetition, a metre or
    a calorie; 1 for what is measured in seconds. `bodyweight_share` is 0 to 1 of bodyweight that a repetition
    moves, and 0 where the load alone is counted.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: Key
    name: Name
    aliases: tuple[Name, ...] = ()
    pattern: Pattern
    starts_at: StartingEnd | None
    restful_end: RestfulEnd
    rests_muscles: tuple[Muscle, ...] = ()
    primary_muscles: Annotated[tuple[Muscle, ...], Field(min_length=1)]
    secondary_muscles: tuple[Muscle, ...] = ()
    laterality: Laterality
    measure: Measure
    phase_words: PhaseWords | None
    station: Station
    equipment: tuple[Equipment, ...] = ()
    load_basis: LoadBasis
    loading: Loading
    bodyweight_share: Annotated[Decimal, Field(ge=0, le=1, decimal_places=2)]
    repetition_s: Annotated[Decimal, Field(gt=0, le=120, decimal_places=2)]
    complexity: Annotated[int, Field(ge=1, le=3)]

    @property
    def muscles(self) -> tuple[Muscle, ...]:
        """Primary muscles, then secondary ones."""
        return self.primary_muscles + self.secondary_muscles

    @property
    def performing_order(self) -> tuple[Phase, ...]:
        """The phases in the order performed, from where a repetition starts; empty without phases."""
        written = tuple(Phase)
        if self.starts_at is None:
            return ()
        if self.starts_at is StartingEnd.SHORTENED:
            return written
        return written[2:] + written[:2]

    @property
    def performed_words(self) -> tuple[str, ...]:
        """The display words in the order performed; empty without phases."""
        words = self.phase_words
        return () if words is None else tuple(getattr(words, phase.value) for phase in self.performing_order)
