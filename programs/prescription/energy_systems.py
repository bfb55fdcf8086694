"""Work and rest by energy system, for work that is meant near-maximal. The published table has gaps, said as gaps.

Source: NSCA Essentials, table 3.6 (read in two agreeing pages).
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final, Literal

from programs.prescription.constants import (
    FAST_GLYCOLYSIS_REST_RATIO,
    FAST_GLYCOLYSIS_WORK_S,
    FAST_OXIDATIVE_REST_RATIO,
    FAST_OXIDATIVE_WORK_S,
    OXIDATIVE_REST_RATIO,
    PHOSPHAGEN_REST_RATIO,
    PHOSPHAGEN_WORK_S,
)

EnergySystem = Literal["phosphagen", "fast_glycolysis", "fast_glycolysis_and_oxidative", "oxidative"]
RestVerdict = Literal["less", "within", "more"]

TABLE_SOURCE: Final = "NSCA Essentials, table 3.6 (read in two agreeing pages)."
"""Ground of the rows. Source: as named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyRow:
    """One row: the work it speaks of, and the seconds of rest for each second of work. ``None`` is without end."""

    system: EnergySystem
    work_low_s: int
    work_high_s: int | None
    rest_low_ratio: int
    rest_high_ratio: int

    def holds(self, work_s: int) -> bool:
        """Say whether the row speaks of this much work. The last row is of work over its lower bound."""
        if self.work_high_s is None:
            return work_s > self.work_low_s
        return self.work_low_s <= work_s <= self.work_high_s

    def rest_s(self, work_s: int) -> tuple[int, int]:
        """Give the least and most rest that the row has for this much work, in seconds."""
        return work_s * self.rest_low_ratio, work_s * self.rest_high_ratio


ENERGY_ROWS: Final = (
    EnergyRow(
        system="phosphagen",
        work_low_s=PHOSPHAGEN_WORK_S[0],
        work_high_s=PHOSPHAGEN_WORK_S[1],
        rest_low_ratio=PHOSPHAGEN_REST_RATIO[0],
        rest_high_ratio=PHOSPHAGEN_REST_RATIO[1],
    ),
    EnergyRow(
        system="fast_glycolysis",
        work_low_s=FAST_GLYCOLYSIS_WORK_S[0],
        work_high_s=FAST_GLYCOLYSIS_WORK_S[1],
        rest_low_ratio=FAST_GLYCOLYSIS_REST_RATIO[0],
        rest_high_ratio=FAST_GLYCOLYSIS_REST_RATIO[1],
    ),
    EnergyRow(
        system="fast_glycolysis_and_oxidative",
        work_low_s=FAST_OXIDATIVE_WORK_S[0],
        work_high_s=FAST_OXIDATIVE_WORK_S[1],
        rest_low_ratio=FAST_OXIDATIVE_REST_RATIO[0],
        rest_high_ratio=FAST_OXIDATIVE_REST_RATIO[1],
    ),
    EnergyRow(
        system="oxidative",
        work_low_s=FAST_OXIDATIVE_WORK_S[1],
        work_high_s=None,
        rest_low_ratio=OXIDATIVE_REST_RATIO[0],
        rest_high_ratio=OXIDATIVE_REST_RATIO[1],
    ),
)
"""The table. Source: NSCA Essentials, table 3.6 (read in two agreeing pages)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRest:
    """A slot's work and the rest after it, in seconds, and what the table says of them.

    ``rest_ratio`` is rest for each second of work. ``row`` is None where the table does not speak, and then
    ``reason`` says why; ``verdict`` and the published seconds stand only beside a row.
    """

    slot_key: str
    work_s: int
    rest_s: int
    rest_ratio: Decimal
    row: EnergyRow | None = None
    verdict: RestVerdict | None = None
    published_low_s: int | None = None
    published_high_s: int | None = None
    reason: str | None = None
    source: str = TABLE_SOURCE


def energy_row(work_s: int) -> EnergyRow | None:
    """Give the row for this much work; None where the table has a gap, or begins later."""
    return next((row for row in ENERGY_ROWS if row.holds(work_s)), None)


def read_work_rest(slot_key: str, work_s: int, rest_s: int, *, near_maximal: bool) -> WorkRest:
    """Hold work and rest against the table.

    Args:
        slot_key: whose work.
        work_s: seconds of work, above 0.
        rest_s: seconds of rest after it.
        near_maximal: whether the work is meant near-maximal, of which alone the table speaks.

    Raises:
        ValueError: when there is no work.
    """
    if work_s <= 0:
        raise ValueError(f"Give seconds of work above zero, not {work_s}.")
    ratio = (Decimal(rest_s) / work_s).quantize(Decimal("0.01"), rounding=ROUND_HALF_EVEN)
    plain = WorkRest(slot_key=slot_key, work_s=work_s, rest_s=rest_s, rest_ratio=ratio, reason=_gap(work_s))
    if not near_maximal:
        return WorkRest(
            slot_key=slot_key,
            work_s=work_s,
            rest_s=rest_s,
            rest_ratio=ratio,
            reason="The published table speaks of near-maximal work only, and this is not said to be (RPE 9 or more).",
        )
    row = energy_row(work_s)
    if row is None:
        return plain
    low_s, high_s = row.rest_s(work_s)
    return WorkRest(
        slot_key=slot_key,
        work_s=work_s,
        rest_s=rest_s,
        rest_ratio=ratio,
        row=row,
        verdict="less" if rest_s < low_s else "more" if rest_s > high_s else "within",
        published_low_s=low_s,
        published_high_s=high_s,
    )


def _gap(work_s: int) -> str:
    below = [row for row in ENERGY_ROWS if row.work_high_s is not None and row.work_high_s < work_s]
    above = [row for row in ENERGY_ROWS if row.work_low_s > work_s]
    if not below:
        return f"The published table begins at {ENERGY_ROWS[0].work_low_s} s of work."
    after = f" and {above[0].work_low_s} s ({above[0].system.replace('_', ' ')})" if above else ""
    return (
        f"Between rows: the published table has nothing between {below[-1].work_high_s} s "
        f"({below[-1].system.replace('_', ' ')}){after} of work."
    )
