"""`/planned-sessions`."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.policy import Principal, member_shown
from programs.actions.bulk_changes import change_sessions
from programs.actions.planned_sessions import change_planned_session
from programs.actions.prescription_changes import change_prescription
from programs.api.serializers.bulk_changes import (
    BulkChangeSerializer,
    BulkResultsSerializer,
    sessions_wanted,
    show_bulk_results,
)
from programs.api.serializers.planned_sessions import (
    PlannedSessionChangeSerializer,
    PlannedSessionSerializer,
    show_planned_sessions,
)
from programs.api.serializers.session_changes import slot_edits
from programs.models import PlannedState
from programs.selectors.movement_holds import list_hold_warnings
from programs.selectors.place_warnings import list_place_warnings
from programs.selectors.planned_sessions import get_planned_session, list_planned_sessions
from programs.selectors.session_paces import list_paced_times


class PlannedSessionsView(OperationView):
    """The calendar."""

    operations = {"GET": "planned_sessions.list"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("client", "Only this client's.", kind="uuid"),
            QueryParameter("assignment", "Only of this assignment.", kind="uuid"),
            QueryParameter("from", "Local dates from this one on.", kind="date"),
            QueryParameter("to", "Local dates up to this one.", kind="date"),
            QueryParameter("state", "Only these states.", choices=tuple(PlannedState.values), many=True),
        )
    }

    @extend_schema(responses=page_of(PlannedSessionSerializer))
    def get(self, _request: Request) -> Response:
        """List sessions by local date."""
        rows = list_planned_sessions(
            actor=self.principal,
            client_id=self.query["client"],
            assignment_id=self.query["assignment"],
            first=self.query["from"],
            last=self.query["to"],
            states=self.query["state"],
        )
        return self.page(rows, order=("local_date", "id"), show=lambda found: _show(found, self.principal))


class PlannedSessionView(OperationView):
    """A session on a client's calendar."""

    operations = {"GET": "planned_sessions.read", "PATCH": "planned_sessions.update"}

    @extend_schema(responses=PlannedSessionSerializer)
    def get(self, _request: Request, planned_session_id: UUID) -> Response:
        """Return a session with its resolved loads."""
        return self._shown(planned_session_id)

    @extend_schema(request=PlannedSessionChangeSerializer, responses=PlannedSessionSerializer)
    def patch(self, _request: Request, planned_session_id: UUID) -> Response:
        """Move it (a client: inside its week), excuse it, give it back, or change what it prescribes.

        What was done never changes. Changes of what it prescribes hold when the client moves to another version. A
        pair left with one slot becomes straight and keeps the rest of its round, a straight block with a second slot
        a pair; a block left with none is gone. A slot is not taken out while another takes its load from it.
        """
        body = self.body(PlannedSessionChangeSerializer)
        ground: dict[str, Any] = {
            "actor": self.principal,
            "planned_session_id": planned_session_id,
            "versions": self.versions(),
            "now": timezone.now(),
        }
        if "prescribed" in body:
            change_prescription(**ground, edits=slot_edits(body["prescribed"]))
        else:
            change_planned_session(**ground, **body)
        return self._shown(planned_session_id)

    def _shown(self, planned_session_id: UUID) -> Response:
        row = get_planned_session(actor=self.principal, planned_session_id=planned_session_id)
        return self.single(_show([row], self.principal)[0], row["row_version"])


class BulkChangeView(OperationView):
    """Changing many sessions."""

    operations = {"POST": "planned_sessions.bulk_change"}

    @extend_schema(request=BulkChangeSerializer, responses=BulkResultsSerializer)
    def post(self, _request: Request) -> Response:
        """Shift, excuse, lighten or swap in many clients' sessions, with one result per session."""
        body = self.body(BulkChangeSerializer)
        results = change_sessions(
            actor=self.principal, wanted=sessions_wanted(body), change=body["change"], now=timezone.now()
        )
        return Response(show_bulk_results(results))


def _show(rows: Sequence[Mapping[str, Any]], actor: Principal) -> list[dict[str, Any]]:
    rows = [{**row, "changed_by_id": member_shown(actor, row["changed_by_id"])} for row in rows]
    return show_planned_sessions(rows, list_place_warnings(rows), list_hold_warnings(rows), list_paced_times(rows))
