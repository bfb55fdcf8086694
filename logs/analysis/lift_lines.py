"""Which sets may be compared: lines of an exercise, side, tempo class, machine and place; and what each set showed."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from logs.analysis.constants import PLACE_BOUND_LOADINGS
from logs.analysis.facts import SetFact
from logs.analysis.performed_sets import own_load_kg, reserve, segments
from logs.analysis.strength import Confidence, Formula, TempoClass, estimated_maximum
from programs.prescription.vocabulary import LoadBasis, SetKind

BodyMoved = Callable[[SetFact], Decimal | None]
NoEstimate = Literal[
    "within_bounds",
    "over_10_repetitions",
    "over_12_repetitions",
    "over_3_in_reserve",
    "unknown_effort",
    "no_repetitions",
    "no_load",
    "no_bodyweight",
    "assisted",
]

NO_ESTIMATES: Final[tuple[NoEstimate, ...]] = (
    "within_bounds",
    "over_10_repetitions",
    "over_12_repetitions",
    "over_3_in_reserve",
    "unknown_effort",
    "no_repetitions",
    "no_load",
    "no_bodyweight",
    "assisted",
)
"""Why an estimate has its confidence. Practice."""

_RANK: Final[dict[Confidence, int]] = {"normal": 2, "low": 1, "none": 0}


class LiftLine(NamedTuple):
    """What must be alike for two sets to stand on one line; place and machine empty where they do not matter."""

    exercise: str
    side: str
    tempo_class: TempoClass
    place: str
    machine: str

    @property
    def key(self) -> str:
        """Only a machine may hold a slash, so it stands last; without machine and place their ends are left out."""
        return "/".join(self if self.machine else self[:-1] if self.place else self[:-2])


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftSet:
    """What a set showed of a lift; of a set with segments, the first.

    Attributes:
        session_id: Its session.
        local_date: That session's date.
        kind: What sort of set it was.
        load_kg: The load in its basis; None when unknown.
        load_basis: What the load means.
        body_kg: The bodyweight moved beside an added load; 0 for other loads; None when unknown.
        repetitions: Repetitions; None where they were not counted.
        in_reserve: Repetitions in reserve; None when unknown.
        tempo: The tempo it was held to, written; empty when unknown.
        value_kg: The estimated maximum in the load's own basis; None without one.
        confidence: Of that estimate.
        reason: Why the confidence is what it is.
        formula: By which it was made.
    """

    session_id: str
    local_date: date
    kind: SetKind
    load_kg: Decimal | None
    load_basis: LoadBasis
    body_kg: Decimal | None
    repetitions: int | None
    in_reserve: Decimal | None
    tempo: str
    value_kg: Decimal | None
    confidence: Confidence
    reason: NoEstimate
    formula: Formula

    @property
    def enters_line(self) -> bool:
        """Whether the line takes its estimate."""
        return self.confidence == "normal"


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftSession:
    """The sets of one line in one session."""

    session_id: str
    local_date: date
    sets: tuple[LiftSet, ...]

    @property
    def best(self) -> LiftSet:
        """The set with the best estimate: one that the line takes, else one of low confidence, else any."""
        return max(self.sets, key=lambda one: (_RANK[one.confidence], one.value_kg or Decimal(0)))


def line_of(one: SetFact) -> LiftLine:
    """Find the line that a set stands on.

    Args:
        one: A set.

    Returns:
        Its line; the place only of stacks and plate-loaded machines, since no two are built alike.

    Source: practice.
    """
    place = one.place if one.exercise.loading in PLACE_BOUND_LOADINGS else ""
    return LiftLine(one.exercise.key, one.side, one.tempo_class, place, one.machine)


def lift_set(one: SetFact, body_moved: BodyMoved, formula: Formula) -> LiftSet:
    """Read what a set showed, with its estimate.

    Args:
        one: A counted set.
        body_moved: The bodyweight that a set moved, None when unknown.
        formula: The formula of the estimate.

    Returns:
        The set; an added load is estimated with the bodyweight moved, which is then taken off again.

    Source: the formulas as in `strength.FORMULAS`.
    """
    parts = segments(one)
    load = own_load_kg(one, parts[0]) if parts else one.load_kg
    body = body_moved(one) if one.load_basis == "added" else Decimal(0)
    value, confidence, reason = _estimate(one, load, body, formula)
    return LiftSet(
        session_id=one.session_id,
        local_date=one.local_date,
        kind=one.kind,
        load_kg=load,
        load_basis=one.load_basis,
        body_kg=body,
        repetitions=parts[0].reps if parts else None,
        in_reserve=reserve(one),
        tempo="" if one.tempo_asked is None else str(one.tempo_asked),
        value_kg=value,
        confidence=confidence,
        reason=reason,
        formula=formula,
    )


def lift_sessions(
    sets: Iterable[SetFact], body_moved: BodyMoved, formula: Formula
) -> dict[LiftLine, tuple[LiftSession, ...]]:
    """Gather sets by line and session.

    Args:
        sets: Counted sets; those without repetitions or without a load stand on no line.
        body_moved: The bodyweight that a set moved, None when unknown.
        formula: The formula of the estimates.

    Returns:
        Lines in order, each with its sessions, oldest first.

    Source: practice.
    """
    lines: defaultdict[LiftLine, defaultdict[tuple[date, str], list[LiftSet]]] = defaultdict(lambda: defaultdict(list))
    for one in sets:
        shown = lift_set(one, body_moved, formula)
        if shown.load_kg is not None and shown.repetitions is not None:
            lines[line_of(one)][one.local_date, one.session_id].append(shown)
    return {line: tuple(_sessions(lines[line])) for line in sorted(lines)}


def _sessions(by_session: dict[tuple[date, str], list[LiftSet]]) -> Iterable[LiftSession]:
    for (local_date, session_id), sets in sorted(by_session.items()):
        yield LiftSession(session_id=session_id, local_date=local_date, sets=tuple(sets))


def kept_sessions(sessions: Sequence[LiftSession], left_out: Callable[[date], str]) -> tuple[LiftSession, ...]:
    """Leave out the sessions of weeks that stay out.

    Args:
        sessions: Sessions of a line.
        left_out: Why a date's week stays out; empty when it does not.

    Returns:
        The others, in order.

    Source: practice.
    """
    return tuple(one for one in sessions if not left_out(one.local_date))


def _estimate(
    one: SetFact, load: Decimal | None, body: Decimal | None, formula: Formula
) -> tuple[Decimal | None, Confidence, NoEstimate]:
    parts = segments(one)
    refusals: tuple[tuple[bool, NoEstimate], ...] = (
        (one.tempo_class == "assisted", "assisted"),
        (not parts, "no_repetitions"),
        (load is None, "no_load"),
        (body is None, "no_bodyweight"),
    )
    for refused, reason in refusals:
        if refused:
            return None, "none", reason
    moved = body or Decimal(0)
    found = estimated_maximum(max((load or Decimal(0)) + moved, Decimal(0)), parts[0].reps, reserve(one), formula)
    return None if found.value_kg is None else found.value_kg - moved, found.confidence, found.reason  # type: ignore[return-value]
