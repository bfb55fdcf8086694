"""Findings: what the analysis has to say about a prescription, each with its figure, its rule and its source.

Only what cannot be performed is an ``error``; coaching judgements are never more than a ``warning``.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from programs.prescription.vocabulary import Severity


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing to say.

    ``pointer`` is the place in the document. ``figure`` is what was found and ``bound`` what it was held against,
    both in ``unit``; None where there is nothing to measure. ``rule`` says what is judged, ``source`` on what ground
    ("Practice." where there is none), ``suggestion`` what to change. ``line`` is the line, from 1, of the written
    session, where the analysis came from one; None for what is said of the whole session.
    """

    severity: Severity
    code: str
    message: str
    pointer: str
    rule: str
    source: str
    suggestion: str
    figure: Decimal | None = None
    bound: Decimal | None = None
    unit: str | None = None
    line: int | None = None


def has_errors(findings: Iterable[Finding]) -> bool:
    """Say whether anything in the list cannot be performed, and so blocks publishing."""
    return any(finding.severity == "error" for finding in findings)
