"""Whether each slot rests long enough for what it is meant for. Long rests are never a finding.

Least effective rest: 1-3 repetitions or 90 % and over 180 s; 4-6 or 80 % and over 150 s; any strength work 120 s
(under it a warning, otherwise a note); clients under 6 months of training 90 s. Size 90 s at many-joint work, 60 s
at single-joint work; endurance 20 s.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from programs.prescription.constants import (
    HEAVY_PCT,
    HEAVY_REPS_MAX,
    LEAST_REST_ENDURANCE_S,
    LEAST_REST_HEAVY_S,
    LEAST_REST_MAXIMAL_S,
    LEAST_REST_NOVICE_S,
    LEAST_REST_SIZE_S,
    LEAST_REST_SIZE_SINGLE_JOINT_S,
    LEAST_REST_STRENGTH_S,
    MAXIMAL_PCT,
    MAXIMAL_REPS_MAX,
    MONTHS_PER_YEAR,
    NOVICE_MONTHS,
)
from programs.prescription.findings import Finding
from programs.prescription.rests import EffectiveRest
from programs.prescription.stimulus import share_of_maximum_pct
from programs.prescription.structure import ExerciseFacts, SetGroup, Slot

_STRENGTH_SOURCE: Final = "ACSM 2009 Med Sci Sports Exerc 41:687-708; Grgic et al. 2018 Sports Med 48:137-151."
"""Ground of the strength figures. Source: as named."""

_SIZE_SOURCE: Final = "Singer et al. 2024 Front Sports Act Living 6:1429789."
"""Ground of the size figures. Source: as named."""

_ENDURANCE_SOURCE: Final = "de Salles et al. 2009 Sports Med 39:765, from memory."
"""Ground of the endurance figure. Source: as named."""

SINGLE_JOINT_PATTERNS: Final = frozenset(
    {
        "elbow_flexion",
        "elbow_extension",
        "shoulder_isolation",
        "knee_extension",
        "knee_flexion",
        "hip_isolation",
        "calf_raise",
        "grip",
        "neck",
    }
)
"""Movement patterns about one joint. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastRest:
    """The least rest that a slot's work wants, and the one under which it is worth a warning (None: never)."""

    least_s: int
    warn_under_s: int | None
    source: str


def is_novice(training_since: date | None, today: date) -> bool:
    """Say whether someone has trained for less than 6 months (practice); not where it is not known since when."""
    if training_since is None:
        return False
    months = (today.year - training_since.year) * MONTHS_PER_YEAR + today.month - training_since.month
    return months - (today.day < training_since.day) < NOVICE_MONTHS


def least_rest(slot: Slot, facts: ExerciseFacts | None, *, novice: bool = False) -> LeastRest | None:
    """Give the least effective rest of a slot, or None where nothing published speaks to it.

    Args:
        slot: the slot; without a goal, 6 repetitions or fewer are read as strength work.
        facts: its exercise, which tells many-joint from single-joint work; None is read as many-joint.
        novice: whether the client has trained for less than 6 months.
    """
    work = [group for group in slot.sets if group.counts_as_work]
    if slot.goal in ("strength", "power") or (slot.goal is None and any(_is_heavy(group) for group in work)):
        if novice:
            return LeastRest(least_s=LEAST_REST_NOVICE_S, warn_under_s=LEAST_REST_NOVICE_S, source=_STRENGTH_SOURCE)
        least_s = max((_strength_least_s(group) for group in work), default=LEAST_REST_STRENGTH_S)
        return LeastRest(least_s=least_s, warn_under_s=LEAST_REST_STRENGTH_S, source=_STRENGTH_SOURCE)
    if slot.goal == "size":
        single = facts is not None and facts.pattern in SINGLE_JOINT_PATTERNS
        least_s = LEAST_REST_SIZE_SINGLE_JOINT_S if single else LEAST_REST_SIZE_S
        return LeastRest(least_s=least_s, warn_under_s=None, source=_SIZE_SOURCE)
    if slot.goal == "endurance":
        return LeastRest(least_s=LEAST_REST_ENDURANCE_S, warn_under_s=None, source=_ENDURANCE_SOURCE)
    return None


def rest_findings(
    slot: Slot, facts: ExerciseFacts | None, rest: EffectiveRest | None, place: str, *, novice: bool = False
) -> Iterator[Finding]:
    """Hold a slot's least effective rest against what its work wants."""
    wanted = least_rest(slot, facts, novice=novice)
    if wanted is None or rest is None or rest.least_s is None or rest.least_s >= wanted.least_s:
        return
    warned = wanted.warn_under_s is not None and rest.least_s < wanted.warn_under_s
    assumed = " (with an assumed rest)" if rest.assumed else ""
    yield Finding(
        severity="warning" if warned else "note",
        code="short_rest",
        message=(
            f"{slot.slot_key} rests {rest.least_s} s between its sets{assumed}; "
            f"its work usually wants {wanted.least_s} s or more."
        ),
        pointer=f"{place}/rest_s",
        rule="Least effective rest by goal, repetitions and percentage.",
        source=wanted.source,
        suggestion=(
            f"Add about {wanted.least_s - rest.least_s} s to the rest, or pair it with work for other muscles."
        ),
        figure=Decimal(rest.least_s),
        bound=Decimal(wanted.least_s),
        unit="s",
    )


def _strength_least_s(group: SetGroup) -> int:
    reps, pct = _fewest_reps(group), share_of_maximum_pct(group)
    if (reps is not None and reps <= MAXIMAL_REPS_MAX) or (pct is not None and pct >= MAXIMAL_PCT):
        return LEAST_REST_MAXIMAL_S
    if _is_heavy(group):
        return LEAST_REST_HEAVY_S
    return LEAST_REST_STRENGTH_S


def _is_heavy(group: SetGroup) -> bool:
    reps, pct = _fewest_reps(group), share_of_maximum_pct(group)
    return (reps is not None and reps <= HEAVY_REPS_MAX) or (pct is not None and pct >= HEAVY_PCT)


def _fewest_reps(group: SetGroup) -> int | None:
    reps = group.first_segment_reps
    return None if reps is None or group.to_limit else reps[0]
