"""`/assignments/move-to-version`, and that of one assignment."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.views import OperationView
from programs.actions.version_move_results import VersionMove
from programs.actions.version_moves import move_assignment_to_version, move_to_version
from programs.api.serializers.version_moves import (
    VersionMoveInSerializer,
    VersionMoveResultSerializer,
    VersionMoveResultsSerializer,
    VersionMovesInSerializer,
    moves_of,
    show_move,
    show_moves,
)


class VersionMovesView(OperationView):
    """Moving many clients to another version."""

    operations = {"POST": "assignments.move_all_to_version"}

    @extend_schema(request=VersionMovesInSerializer, responses=VersionMoveResultsSerializer)
    def post(self, _request: Request) -> Response:
        """Move assignments to a published version of their variant, with one result per assignment.

        What was done stays, and so do one-off changes and clients' own substitutes.
        """
        body = self.body(VersionMovesInSerializer)
        results = move_to_version(
            actor=self.principal, version_id=body["version"], moves=moves_of(body), now=timezone.now()
        )
        return Response(show_moves(results))


class VersionMoveView(OperationView):
    """Moving one client to another version."""

    operations = {"POST": "assignments.move_to_version"}

    @extend_schema(request=VersionMoveInSerializer, responses=VersionMoveResultSerializer)
    def post(self, _request: Request, assignment_id: UUID) -> Response:
        """Move an assignment to a published version of its variant; what was done stays."""
        body = self.body(VersionMoveInSerializer)
        result = move_assignment_to_version(
            actor=self.principal,
            version_id=body["version"],
            move=VersionMove(assignment_id, body["from_date"], body.get("weekdays")),
            now=timezone.now(),
        )
        return Response(show_move(result))
