"""Assignments: who follows which version, from when on."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from coaching.measures.local_calendar import DateSpan
from coaching.models import Absence, AbsenceTreatment, Client
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound
from programs.models import (
    Assignment,
    AssignmentPause,
    AssignmentState,
    AssignmentVersion,
    PlannedSession,
)
from programs.selectors.visible_clients import get_named_client


def visible_assignments(actor: Principal) -> QuerySet[Assignment]:
    """Return the assignments of clients whom the caller may see."""
    return Assignment.objects.filter(client_rows(actor))


def list_assignments(
    *, actor: Principal, client_id: UUID | None = None, states: Sequence[str] | None = None
) -> QuerySet[Assignment]:
    """Return assignments with their versions and pauses.

    Raises:
        UnknownObject: no such client that the caller may see.
    """
    rows = (
        visible_assignments(actor)
        .select_related("variant")
        .prefetch_related(
            Prefetch(
                "versions",
                AssignmentVersion.objects.select_related("version").defer("version__content").order_by("from_date"),
            ),
            Prefetch("pauses", AssignmentPause.objects.order_by("from_date")),
        )
    )
    if client_id is not None:
        get_named_client(actor=actor, client_id=client_id, pointer="?client")
        rows = rows.filter(client_id=client_id)
    return rows.filter(state__in=states) if states else rows


def get_assignment(*, actor: Principal, assignment_id: UUID) -> Assignment:
    """Return an assignment.

    Raises:
        NotFound: no such assignment that the caller may see.
    """
    found = list_assignments(actor=actor).filter(id=assignment_id).first()
    if found is None:
        raise NotFound("There is no assignment with this id that you may see.")
    return found


def session_counts(assignment_ids: Iterable[UUID]) -> dict[UUID, dict[str, int]]:
    """Return how many sessions of each assignment are in each state, in one query."""
    counts: dict[UUID, dict[str, int]] = defaultdict(dict)
    rows = (
        PlannedSession.objects.filter(assignment_id__in=list(assignment_ids))
        .order_by()
        .values_list("assignment_id", "state")
        .annotate(count=Count("id"))
    )
    for assignment_id, state, count in rows:
        counts[assignment_id][state] = count
    return counts


def running_until(*, variant_id: UUID, client_ids: Iterable[UUID]) -> dict[UUID, date]:
    """Return, by client, the last planned date of assignments of a variant that still run."""
    rows = (
        Assignment.objects.filter(variant_id=variant_id, client_id__in=list(client_ids))
        .exclude(state=AssignmentState.ENDED)
        .order_by()
        .values_list("client_id")
        .annotate(last=Max("sessions__local_date"))
    )
    return {client_id: last for client_id, last in rows if last is not None}


def pausing_absences(*, client_ids: Iterable[UUID], first: date) -> dict[UUID, list[Absence]]:
    """Return, by client, the absences that take sessions away, from a date on."""
    found: dict[UUID, list[Absence]] = defaultdict(list)
    rows = Absence.objects.filter(client_id__in=list(client_ids), treatment=AbsenceTreatment.PAUSE, ends_on__gte=first)
    for row in rows.order_by("starts_on", "id"):
        found[row.client_id].append(row)
    return found


def pause_spans(rows: Iterable[AssignmentPause]) -> dict[UUID, list[DateSpan]]:
    """Return, by assignment, the days on which it stood still; the last one may be open."""
    spans: dict[UUID, list[DateSpan]] = defaultdict(list)
    for row in rows:
        last = None if row.resumed_on is None else row.resumed_on - timedelta(days=1)
        if last is None or last >= row.from_date:
            spans[row.assignment_id].append(DateSpan(row.from_date, last))
    return spans


def clients_to_assign(*, actor: Principal, client_ids: Iterable[UUID]) -> dict[UUID, Client]:
    """Return, by id, the clients whom the caller may see, locked until the transaction ends.

    Locked in one order, so that two calls that assign to the same clients see each other's assignments.
    """
    rows = Client.objects.filter(client_rows(actor, ""), Q(id__in=list(client_ids)))
    return {row.id: row for row in rows.order_by("id").select_for_update(of=("self",), no_key=True)}
