"""`/absences`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from programs.actions.absences import record_absence, remove_absence
from programs.api.serializers.absences import (
    AbsenceInSerializer,
    AbsenceSerializer,
    show_absence,
    show_absences,
)
from programs.selectors.absences import get_absence, list_absences


class AbsencesView(OperationView):
    """When clients are away."""

    operations = {"GET": "absences.list", "POST": "absences.create"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("client", "Only this client's.", kind="uuid"),
            QueryParameter("from", "That end on this date or later.", kind="date"),
            QueryParameter("to", "That start on this date or earlier.", kind="date"),
        )
    }

    @extend_schema(responses=page_of(AbsenceSerializer))
    def get(self, _request: Request) -> Response:
        """List absences by their first day."""
        rows = list_absences(
            actor=self.principal,
            client_id=self.query["client"],
            first=self.query["from"],
            last=self.query["to"],
        )
        return self.page(rows, order=("starts_on", "id"), show=show_absences)

    @extend_schema(request=AbsenceInSerializer, responses={201: AbsenceSerializer})
    def post(self, _request: Request) -> Response:
        """Record days away: the sessions inside are excused, or planned for the place travelled to."""
        body = self.body(AbsenceInSerializer)
        row = record_absence(
            actor=self.principal,
            client_id=body.pop("client"),
            place_id=body.pop("place", None),
            now=timezone.now(),
            **body,
        )
        return self.single(show_absence(row), row.row_version, status=201, location=f"/api/v1/absences/{row.id}")


class AbsenceView(OperationView):
    """Days that a client is away."""

    operations = {"GET": "absences.read", "DELETE": "absences.delete"}

    @extend_schema(responses=AbsenceSerializer)
    def get(self, _request: Request, absence_id: UUID) -> Response:
        """Return an absence."""
        row = get_absence(actor=self.principal, absence_id=absence_id)
        return self.single(show_absence(row), row.row_version)

    @extend_schema(responses={204: OpenApiResponse(description="Removed; what it took away is planned again.")})
    def delete(self, _request: Request, absence_id: UUID) -> Response:
        """Remove an absence: the sessions that it took away are planned again, past ones are then found missed."""
        remove_absence(actor=self.principal, absence_id=absence_id, versions=self.versions(), now=timezone.now())
        return Response(status=204)
