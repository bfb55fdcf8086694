"""Print how often the rule of trends tells the truth, beside the reference table."""

from argparse import ArgumentParser
from math import sqrt
from typing import Any, Final

from django.core.management.base import BaseCommand

from logs.analysis.trend_power import REFERENCE, REFERENCE_SIMULATIONS, simulated_shares

_HEAD: Final = (
    f"{'noise':>6} {'weeks':>6} {'true':>6}   {'ours':<20} {'reference':<20} {'difference':<22} {'error':<16}"
)
_NOTES: Final = (
    "Shares improving, plateau and undecided, by the service's own trend and verdict; the rest is declining.",
    "Error: one standard error of the difference of two simulations. The reference was computed beforehand by another",
    "program (scipy.stats.theilslopes, 2,000 lines a cell, two places). How it drew noise is not known: lifters here",
    "grow along a straight line, one value a week, each off by a normal error in proportion to the true value.",
)


class Command(BaseCommand):
    """Simulates lifters with the service's own code."""

    help = "Simulate lifters, judge their trends, and print the shares of verdicts beside the reference table."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the number of lines a cell, and a seed."""
        parser.add_argument("--simulations", type=int, default=2000, help="lines a cell")
        parser.add_argument("--seed", type=int, default=1, help="of the random numbers")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Print one line a cell."""
        self.stdout.write(_HEAD)
        for cell, reference in REFERENCE.items():
            found = simulated_shares(cell, simulations=options["simulations"], seed=options["seed"])
            ours = (found.improving, found.plateau, found.undecided)
            differences = [own - other for own, other in zip(ours, reference, strict=True)]
            errors = [_error(own, other, options["simulations"]) for own, other in zip(ours, reference, strict=True)]
            self.stdout.write(
                f"{cell.noise_pct:>5}% {cell.weeks:>6} {cell.slope_pct_per_week:>+5.1f}%   {_three(ours):<20} "
                f"{_three(reference):<20} {_three(differences, '+'):<22} {_three(errors):<16}".rstrip()
            )
        self.stdout.write("\n".join(_NOTES))


def _three(shares: Any, sign: str = "") -> str:
    return " ".join(f"{share:{sign}.3f}" for share in shares)


def _error(ours: float, reference: float, simulations: int) -> float:
    share = (ours + reference) / 2
    return sqrt(share * (1 - share) * (1 / simulations + 1 / REFERENCE_SIMULATIONS))
