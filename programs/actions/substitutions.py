"""Accept what clients do in place of exercises that do not fit them, and write their sessions to come so."""

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Final, Literal
from uuid import UUID

import orjson
from django.db import connection

from coaching.policy import Principal
from coaching.tenancy.scope import current_business_id
from programs.actions.calendar_rows import LockedSessions
from programs.actions.session_rewrites import RewrittenSessions, rewrite_sessions
from programs.models import Assignment, AssignmentState, AssignmentVersion, PlannedSession, PlannedState, Version
from programs.prescription.client_fit import FitWarning, exercise_cautions, exercise_warnings, training_warnings
from programs.prescription.document import decode_version
from programs.prescription.exercise_closeness import counted_alike
from programs.prescription.movement_holds import Hold
from programs.prescription.snapshot import MissingReference
from programs.prescription.structure import ExerciseFacts
from programs.selectors.assignments import visible_assignments
from programs.selectors.business_calendar import get_business_calendar
from programs.selectors.exercises import exercise_facts
from programs.selectors.movement_holds import standing_holds
from programs.selectors.substitutes import client_limits

Outcome = Literal["accepted", "taken_back", "unchanged", "refused"]

_OPEN: Final = (PlannedState.PLANNED, PlannedState.PAUSED, PlannedState.EXCUSED)

# Nobody's local date is further behind UTC than this.
_ONE_DAY: Final = timedelta(days=1)

_STORE: Final = (
    "UPDATE programs_assignment a SET substitutions = v.substitutions, row_version = a.row_version + 1 "
    "FROM unnest(%s::uuid[], %s::jsonb[]) AS v (id, substitutions) WHERE a.business_id = %s AND a.id = v.id"
)


@dataclass(frozen=True, slots=True)
class WantedSubstitution:
    """What a client is to do in place of an exercise, by id or key; None or the exercise itself takes it back."""

    assignment_id: UUID
    exercise: str
    substitute: str | None


@dataclass(frozen=True, slots=True)
class SubstitutionResult:
    """What became of one substitution of the call.

    Attributes:
        assignment_id: as named in the call.
        exercise: the exercise's key, or as it was named.
        substitute: the substitute's key, or as it was named.
        outcome: `accepted`, `taken_back`, `unchanged` or `refused`.
        code: why it was refused; empty otherwise.
        detail: a sentence that says what to change; empty where nothing was refused.
        session_count: how many sessions to come of the assignment read otherwise after the whole call.
        needs_reference: reference loads that the substitute needs and the client lacks.
        warnings: in what the substitute does not fit the client; the coach decides.
    """

    assignment_id: UUID
    exercise: str
    substitute: str | None
    outcome: Outcome
    code: str = ""
    detail: str = ""
    session_count: int = 0
    needs_reference: tuple[MissingReference, ...] = ()
    warnings: tuple[FitWarning, ...] = ()


@dataclass(slots=True)
class _Ground:
    """What the whole call stands on, read once; `substitutions` are as they will be."""

    assignments: Mapping[UUID, Assignment]
    exercises: Mapping[UUID, Collection[str]]
    facts: Mapping[str, ExerciseFacts]
    substitutions: dict[UUID, dict[str, str]]
    holds: Mapping[UUID, Sequence[Hold]]
    named: set[tuple[UUID, str]] = field(default_factory=set)


def accept_substitutions(
    *, actor: Principal, wanted: Sequence[WantedSubstitution], now: datetime
) -> list[SubstitutionResult]:
    """Put substitutes into many assignments, in a constant number of statements.

    They hold for the sessions to come and for later versions; what was done never changes. One that can't be
    taken is told why; the others are taken all the same.

    Args:
        actor: who accepts; only assignments of clients whom they may see are taken.
        wanted: the substitutions.
        now: decides what is to come.

    Returns:
        One result per entry, in the order given.
    """
    ground = _ground(actor, wanted)
    results = [_take(entry, ground) for entry in wanted]
    changed = {result.assignment_id for result in results if result.outcome in ("accepted", "taken_back")}
    _store(changed, ground)
    rewritten, rows = _rewrite(changed, now)
    counts = Counter(row.assignment_id for row in rows if row.id in rewritten.changed)
    missing: dict[UUID, dict[tuple[str, str], MissingReference]] = defaultdict(dict)
    for row in rows:
        missing[row.assignment_id] |= {(lack.exercise, lack.of): lack for lack in rewritten.missing.get(row.id, ())}
    return [
        replace(
            result,
            session_count=counts[result.assignment_id],
            needs_reference=tuple(
                lack for lack in missing[result.assignment_id].values() if lack.exercise == result.substitute
            ),
        )
        if result.assignment_id in changed and result.outcome != "refused"
        else result
        for result in results
    ]


def _ground(actor: Principal, wanted: Sequence[WantedSubstitution]) -> _Ground:
    rows = (
        visible_assignments(actor)
        .filter(id__in={entry.assignment_id for entry in wanted})
        .select_related("client")
        .order_by("id")
        .select_for_update(of=("self",), no_key=True)
    )
    assignments = {row.id: row for row in rows}
    followed: dict[UUID, set[UUID]] = defaultdict(set)
    for assignment_id, version_id in AssignmentVersion.objects.filter(assignment_id__in=assignments).values_list(
        "assignment_id", "version_id"
    ):
        followed[assignment_id].add(version_id)
    written = {
        version.id: decode_version(version.content).exercises
        for version in Version.objects.filter(id__in=set().union(*followed.values()))
    }
    named = {entry.exercise for entry in wanted} | {entry.substitute for entry in wanted if entry.substitute}
    facts = exercise_facts(named.union(*written.values()))
    used = {version_id: {facts[name].key for name in names if name in facts} for version_id, names in written.items()}
    return _Ground(
        assignments=assignments,
        exercises={
            row_id: set().union(*(used[version_id] for version_id in followed[row_id])) for row_id in assignments
        },
        facts=facts,
        substitutions={row_id: dict(row.substitutions) for row_id, row in assignments.items()},
        holds=standing_holds(client_ids={row.client_id for row in assignments.values()}),
    )


def _take(entry: WantedSubstitution, ground: _Ground) -> SubstitutionResult:
    exercise = ground.facts.get(entry.exercise)
    substitute = exercise if entry.substitute is None else ground.facts.get(entry.substitute)
    refusal = _refusal(entry, exercise, substitute, ground)
    if refusal is not None or exercise is None or substitute is None:
        code, detail = refusal or ("", "")
        return SubstitutionResult(
            entry.assignment_id,
            entry.exercise if exercise is None else exercise.key,
            entry.substitute if substitute is None or entry.substitute is None else substitute.key,
            "refused",
            code=code,
            detail=detail,
        )
    ground.named.add((entry.assignment_id, exercise.key))
    own = ground.substitutions[entry.assignment_id]
    before = own.pop(exercise.key, exercise.key)
    if substitute.key != exercise.key:
        own[exercise.key] = substitute.key
    client = ground.assignments[entry.assignment_id].client
    limits = client_limits(client, holds=ground.holds.get(client.id, ()))
    return SubstitutionResult(
        entry.assignment_id,
        exercise.key,
        substitute.key if substitute.key != exercise.key else None,
        _outcome(before, exercise.key, substitute.key),
        warnings=(
            *training_warnings(limits),
            *exercise_warnings(substitute, limits),
            *exercise_cautions(substitute, limits),
        ),
    )


def _outcome(before: str, exercise: str, after: str) -> Outcome:
    if before == after:
        return "unchanged"
    return "taken_back" if after == exercise else "accepted"


def _refusal(
    entry: WantedSubstitution, exercise: ExerciseFacts | None, substitute: ExerciseFacts | None, ground: _Ground
) -> tuple[str, str] | None:
    assignment = ground.assignments.get(entry.assignment_id)
    if assignment is None:
        return "unknown_object", "There is no assignment with this id that you may see."
    if assignment.state == AssignmentState.ENDED:
        return "assignment_ended", "The assignment has ended; assign the program anew."
    for name, found in ((entry.exercise, exercise), (entry.substitute, substitute)):
        if found is None:
            return "unknown_exercise", f"There is no exercise {name!r}; GET /api/v1/exercises lists them."
    if exercise is None or substitute is None:
        return None
    return _refused_pair(entry.assignment_id, exercise, substitute, ground)


def _refused_pair(
    assignment_id: UUID, exercise: ExerciseFacts, substitute: ExerciseFacts, ground: _Ground
) -> tuple[str, str] | None:
    if (assignment_id, exercise.key) in ground.named:
        return (
            "named_twice",
            f"{exercise.name} stands in the list twice for this assignment; the first entry was taken.",
        )
    if exercise.key not in ground.exercises[assignment_id]:
        stands_for = [key for key, other in ground.substitutions[assignment_id].items() if other == exercise.key]
        hint = f" It stands in for {stands_for[0]}; name that." if stands_for else ""
        return "not_prescribed", f"The program does not prescribe {exercise.name}.{hint}"
    if not counted_alike(exercise, substitute):
        counted = f"Sets of {exercise.name} are counted in {exercise.measure}, of {substitute.name} in"
        return "counted_otherwise", f"{counted} {substitute.measure}; choose one that is counted alike."
    return None


def _store(changed: Collection[UUID], ground: _Ground) -> None:
    ids = sorted(changed)
    documents = [orjson.dumps(ground.substitutions[row_id]).decode() for row_id in ids]
    with connection.cursor() as cursor:
        cursor.execute(_STORE, [ids, documents, current_business_id()])


def _rewrite(assignment_ids: Collection[UUID], now: datetime) -> tuple[RewrittenSessions, list[PlannedSession]]:
    calendar = get_business_calendar()
    found = LockedSessions(
        PlannedSession.objects.filter(
            assignment_id__in=assignment_ids, state__in=_OPEN, local_date__gte=now.date() - _ONE_DAY
        )
    ).rows
    rows = [row for row in found if row.local_date >= calendar.today(now, row.client.time_zone)]
    return rewrite_sessions(rows, now=now), rows
