"""An exercise's own words for the four phases of its repetition."""

from dataclasses import dataclass

from programs.prescription.vocabulary import Phase


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseWords:
    """Display words by phase, such as "bar down", "on the chest", "bar up", "locked out"."""

    eccentric: str
    lengthened: str
    concentric: str
    shortened: str

    def of(self, phase: Phase) -> str:
        """Give the words of one phase."""
        by_phase = {
            "eccentric": self.eccentric,
            "lengthened": self.lengthened,
            "concentric": self.concentric,
            "shortened": self.shortened,
        }
        return by_phase[phase]
