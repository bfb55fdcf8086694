"""A benchmark's result: always the ratio of two things measured side by side in one run."""

from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True)
class Ratio:
    """Ours against a baseline.

    Attributes:
        path: what was measured.
        ours: our median, with its unit.
        baseline: the baseline's median, with its unit.
        ratio: the figure that the target is about.
        target: the least ratio, or the greatest where `at_most`.
        spread: the least and greatest ratio of the single pairs.
        at_most: whether smaller is better.
    """

    path: str
    ours: str
    baseline: str
    ratio: float
    target: float
    spread: tuple[float, float]
    at_most: bool = False

    @property
    def passes(self) -> bool:
        """Say whether the target is met."""
        return self.ratio <= self.target if self.at_most else self.ratio >= self.target

    @classmethod
    def of_rates(cls, path: str, rows: int, ours_s: list[float], baseline_s: list[float], target: float) -> "Ratio":
        """Compare rows per second, from the seconds of each run."""
        pairs = [theirs / own for own, theirs in zip(ours_s, baseline_s, strict=True)]
        own, theirs = median(ours_s), median(baseline_s)
        return cls(
            path=path,
            ours=f"{rows / own:,.0f} rows/s ({own * 1000:,.0f} ms)",
            baseline=f"{rows / theirs:,.0f} rows/s ({theirs * 1000:,.0f} ms)",
            ratio=theirs / own,
            target=target,
            spread=(min(pairs), max(pairs)),
        )


def table(results: list[Ratio]) -> str:
    """Write results as one table."""
    head = ("path", "ours", "baseline", "ratio", "spread", "target", "")
    rows = [
        (
            one.path,
            one.ours,
            one.baseline,
            f"{one.ratio:.2f}",
            f"{one.spread[0]:.2f}-{one.spread[1]:.2f}",
            f"{'<=' if one.at_most else '>='} {one.target:g}",
            "pass" if one.passes else "short",
        )
        for one in results
    ]
    widths = [max(len(line[column]) for line in (head, *rows)) for column in range(len(head))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in (head, *rows)
    )
