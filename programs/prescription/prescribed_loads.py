"""The loads that a set can be prescribed with: said outright, or by what they are found from."""

from dataclasses import dataclass
from decimal import Decimal

from coaching.measures.load import lb_to_kg
from programs.prescription.vocabulary import LoadUnit, Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class AbsoluteLoad:
    """A load in the exercise's own basis, kept in the unit it was written in."""

    value: Decimal
    unit: LoadUnit = "kg"

    @property
    def load_kg(self) -> Decimal:
        """The load in kilograms, exact."""
        return self.value if self.unit == "kg" else lb_to_kg(self.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyweightLoad:
    """Bodyweight alone: nothing added, nothing taken away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PercentLoad:
    """A percentage of a named reference load of the client."""

    of: Reference
    pct: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class RelativeToTopLoad:
    """A change from the day's top set, in percent: -10 is a tenth less."""

    pct: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class SameAsLoad:
    """The load that another slot of the day used."""

    slot_key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BandLoad:
    """A band, in the coach's words."""

    text: str


Load = AbsoluteLoad | BodyweightLoad | PercentLoad | RelativeToTopLoad | SameAsLoad | BandLoad
