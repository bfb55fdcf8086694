"""`/assignments`."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from programs.actions.assignment_changes import change_weekdays, end_assignment, shift_assignment
from programs.actions.assignment_pauses import pause_assignment, resume_assignment
from programs.actions.assignment_results import AssignmentTerms, ClientStart
from programs.actions.assignments import assign_version
from programs.api.serializers.assignments import (
    AssignmentChangeSerializer,
    AssignmentInSerializer,
    AssignmentResultsSerializer,
    AssignmentSerializer,
    PauseInSerializer,
    ResumeInSerializer,
    ShiftInSerializer,
    show_assignment,
    show_results,
)
from programs.models import Assignment, AssignmentState
from programs.selectors.assignments import get_assignment, list_assignments, session_counts


class AssignmentsView(OperationView):
    """Who follows what."""

    operations = {"GET": "assignments.list", "POST": "assignments.create"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("client", "Only this client's.", kind="uuid"),
            QueryParameter("state", "Only these states.", choices=tuple(AssignmentState.values), many=True),
        )
    }

    @extend_schema(responses=page_of(AssignmentSerializer))
    def get(self, _request: Request) -> Response:
        """List assignments, newest first."""
        rows = list_assignments(actor=self.principal, client_id=self.query["client"], states=self.query["state"])
        return self.page(rows, order=("-id",), show=_show)

    @extend_schema(
        request=AssignmentInSerializer,
        responses={200: AssignmentResultsSerializer, 201: AssignmentResultsSerializer},
    )
    def post(self, _request: Request) -> Response:
        """Give a published version to many clients: 201 if any was assigned, else 200, with one result per client."""
        body = self.body(AssignmentInSerializer)
        results = assign_version(
            actor=self.principal,
            version_id=body["version"],
            terms=AssignmentTerms(
                calendar=body["calendar"],
                start_date=body["start_date"],
                weekdays=body.get("weekdays"),
                late_after_days=body.get("late_after_days"),
                alert_past=body["alert_past"],
            ),
            clients=[
                ClientStart(start["client"], start.get("start_date"), start.get("weekdays"))
                for start in body["clients"]
            ],
            now=timezone.now(),
        )
        assigned = any(result.outcome == "assigned" for result in results)
        return Response(show_results(results), status=201 if assigned else 200)


class AssignmentView(OperationView):
    """An assignment."""

    operations = {"GET": "assignments.read", "PATCH": "assignments.update"}

    @extend_schema(responses=AssignmentSerializer)
    def get(self, _request: Request, assignment_id: UUID) -> Response:
        """Return an assignment."""
        return _answer(self, assignment_id)

    @extend_schema(request=AssignmentChangeSerializer, responses=AssignmentSerializer)
    def patch(self, _request: Request, assignment_id: UUID) -> Response:
        """End it, or put its sessions to come on other weekdays; what was done never changes."""
        body = self.body(AssignmentChangeSerializer)
        ground: dict[str, Any] = {
            "actor": self.principal,
            "assignment_id": assignment_id,
            "versions": self.versions(),
            "from_date": body.get("from_date"),
            "now": timezone.now(),
        }
        if "weekdays" in body:
            change_weekdays(**ground, weekdays=body["weekdays"])
        else:
            end_assignment(**ground)
        return _answer(self, assignment_id)


class PauseView(OperationView):
    """Standing still."""

    operations = {"POST": "assignments.pause"}

    @extend_schema(request=PauseInSerializer, responses=AssignmentSerializer)
    def post(self, _request: Request, assignment_id: UUID) -> Response:
        """Let it stand still from a date on, until it is resumed."""
        body = self.body(PauseInSerializer)
        pause_assignment(
            actor=self.principal, assignment_id=assignment_id, from_date=body["from_date"], now=timezone.now()
        )
        return _answer(self, assignment_id)


class ResumeView(OperationView):
    """Going on."""

    operations = {"POST": "assignments.resume"}

    @extend_schema(request=ResumeInSerializer, responses=AssignmentSerializer)
    def post(self, _request: Request, assignment_id: UUID) -> Response:
        """Go on from a date: what was held up moves later, by whole weeks where days are fixed."""
        body = self.body(ResumeInSerializer)
        resume_assignment(actor=self.principal, assignment_id=assignment_id, on=body["on"], now=timezone.now())
        return _answer(self, assignment_id)


class ShiftView(OperationView):
    """Moving all that is to come."""

    operations = {"POST": "assignments.shift"}

    @extend_schema(request=ShiftInSerializer, responses=AssignmentSerializer)
    def post(self, _request: Request, assignment_id: UUID) -> Response:
        """Move its sessions to come later, or earlier by negative days; fixed weekdays turn with them."""
        body = self.body(ShiftInSerializer)
        shift_assignment(
            actor=self.principal,
            assignment_id=assignment_id,
            days=body["days"],
            from_date=body.get("from_date"),
            now=timezone.now(),
        )
        return _answer(self, assignment_id)


def _answer(view: OperationView, assignment_id: UUID) -> Response:
    row = get_assignment(actor=view.principal, assignment_id=assignment_id)
    return view.single(show_assignment(row, session_counts([row.id])), row.row_version)


def _show(rows: Sequence[Assignment]) -> list[dict[str, Any]]:
    counts = session_counts([row.id for row in rows])
    return [show_assignment(row, counts) for row in rows]
