"""`/session-logs/{id}/revisions` and the like: what each correction of a log replaced."""

from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from logs.api.serializers.logs import LogRevisionsSerializer
from logs.api.views.log_operations import LogRevisionsView


class SessionLogRevisionsView(LogRevisionsView):
    """The past of a session log."""

    kind = "session_log"
    operations = {"GET": "session_logs.revisions"}

    @extend_schema(responses=LogRevisionsSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return what each correction of a session log replaced, when and by whom, latest first."""
        return self.show(log_id)


class SetLogRevisionsView(LogRevisionsView):
    """The past of a set log."""

    kind = "set_log"
    operations = {"GET": "set_logs.revisions"}

    @extend_schema(responses=LogRevisionsSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return what each correction of a set log replaced, when and by whom, latest first."""
        return self.show(log_id)


class CheckInRevisionsView(LogRevisionsView):
    """The past of a check-in."""

    kind = "check_in"
    operations = {"GET": "check_ins.revisions"}

    @extend_schema(responses=LogRevisionsSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return what each correction of a check-in replaced, when and by whom, latest first."""
        return self.show(log_id)
