"""`/planned-sessions`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from programs.actions.planned_sessions import change_planned_session
from programs.api.serializers.planned_sessions import (
    PlannedSessionChangeSerializer,
    PlannedSessionSerializer,
    show_planned_session,
    show_planned_sessions,
)
from programs.models import PlannedState
from programs.selectors.planned_sessions import get_planned_session, list_planned_sessions


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
        return self.page(rows, order=("local_date", "id"), show=show_planned_sessions)


class PlannedSessionView(OperationView):
    """A session on a client's calendar."""

    operations = {"GET": "planned_sessions.read", "PATCH": "planned_sessions.update"}

    @extend_schema(responses=PlannedSessionSerializer)
    def get(self, _request: Request, planned_session_id: UUID) -> Response:
        """Return a session with its resolved loads."""
        return self._shown(planned_session_id)

    @extend_schema(request=PlannedSessionChangeSerializer, responses=PlannedSessionSerializer)
    def patch(self, _request: Request, planned_session_id: UUID) -> Response:
        """Move it (a client: inside its week), excuse it, or give it back; what was done never changes."""
        change_planned_session(
            actor=self.principal,
            planned_session_id=planned_session_id,
            versions=self.versions(),
            now=timezone.now(),
            **self.body(PlannedSessionChangeSerializer),
        )
        return self._shown(planned_session_id)

    def _shown(self, planned_session_id: UUID) -> Response:
        row = get_planned_session(actor=self.principal, planned_session_id=planned_session_id)
        return self.single(show_planned_session(row), row["row_version"])
