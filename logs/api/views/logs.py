"""`/session-logs`, `/set-logs` and `/check-ins`: what a batch does, for one log at a time."""

from typing import Final
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from logs.api.items import CheckInItem, SessionLogItem, SetLogItem
from logs.api.serializers.logs import (
    CheckInSerializer,
    RecordedCheckInSerializer,
    RecordedSessionLogSerializer,
    RecordedSetLogSerializer,
    SessionLogSerializer,
    SetLogSerializer,
)
from logs.api.views.log_operations import LogsView, LogView

_OF_CLIENT: Final = (
    QueryParameter("client", "Only this client's.", kind="uuid"),
    QueryParameter("from", "From this local date on.", kind="date"),
    QueryParameter("to", "Up to this local date.", kind="date"),
)
_OF_SESSION: Final = QueryParameter("session_log", "Only this session's.", kind="uuid")
_HISTORY: Final = QueryParameter("history", "Also what corrections replaced.", kind="boolean", default=False)


class SessionLogsView(LogsView):
    """Sessions performed."""

    kind = "session_log"
    operations = {"GET": "session_logs.list", "POST": "session_logs.create"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": _OF_CLIENT}

    @extend_schema(responses=page_of(SessionLogSerializer))
    def get(self, _request: Request) -> Response:
        """List session logs, latest date first."""
        return self.list_page()

    @extend_schema(
        request=SessionLogItem, responses={201: RecordedSessionLogSerializer, 200: RecordedSessionLogSerializer}
    )
    def post(self, _request: Request) -> Response:
        """Log a session; the same one again is unchanged or corrected (200)."""
        return self.record()


class SessionLogView(LogView):
    """A session performed."""

    kind = "session_log"
    operations = {"GET": "session_logs.read", "PATCH": "session_logs.update", "DELETE": "session_logs.delete"}
    query_parameters = {"GET": (_HISTORY,)}

    @extend_schema(responses=SessionLogSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return a session log."""
        return self.show(log_id)

    @extend_schema(request=SessionLogItem, responses=RecordedSessionLogSerializer)
    def patch(self, _request: Request, log_id: UUID) -> Response:
        """Correct a session log; what it was is kept."""
        return self.correct(log_id)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, log_id: UUID) -> Response:
        """Delete a session log and its sets; only their identity stays."""
        return self.empty(log_id)


class SetLogsView(LogsView):
    """Sets performed."""

    kind = "set_log"
    operations = {"GET": "set_logs.list", "POST": "set_logs.create"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": (*_OF_CLIENT, _OF_SESSION)}

    @extend_schema(responses=page_of(SetLogSerializer))
    def get(self, _request: Request) -> Response:
        """List set logs, latest date first."""
        return self.list_page()

    @extend_schema(request=SetLogItem, responses={201: RecordedSetLogSerializer, 200: RecordedSetLogSerializer})
    def post(self, _request: Request) -> Response:
        """Log a set; the same one again is unchanged or corrected (200), one without its session is held (200)."""
        return self.record()


class SetLogView(LogView):
    """A set performed."""

    kind = "set_log"
    operations = {"GET": "set_logs.read", "PATCH": "set_logs.update", "DELETE": "set_logs.delete"}
    query_parameters = {"GET": (_HISTORY,)}

    @extend_schema(responses=SetLogSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return a set log."""
        return self.show(log_id)

    @extend_schema(request=SetLogItem, responses=RecordedSetLogSerializer)
    def patch(self, _request: Request, log_id: UUID) -> Response:
        """Correct a set log; what it was is kept."""
        return self.correct(log_id)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, log_id: UUID) -> Response:
        """Delete a set log; only its identity stays."""
        return self.empty(log_id)


class CheckInsView(LogsView):
    """How people say they are."""

    kind = "check_in"
    operations = {"GET": "check_ins.list", "POST": "check_ins.create"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": _OF_CLIENT}

    @extend_schema(responses=page_of(CheckInSerializer))
    def get(self, _request: Request) -> Response:
        """List check-ins, latest date first."""
        return self.list_page()

    @extend_schema(request=CheckInItem, responses={201: RecordedCheckInSerializer, 200: RecordedCheckInSerializer})
    def post(self, _request: Request) -> Response:
        """Check in; the same one again is unchanged or corrected (200). Read `cautions` to the person at once."""
        return self.record()


class CheckInView(LogView):
    """How a person said they were."""

    kind = "check_in"
    operations = {"GET": "check_ins.read", "PATCH": "check_ins.update", "DELETE": "check_ins.delete"}
    query_parameters = {"GET": (_HISTORY,)}

    @extend_schema(responses=CheckInSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return a check-in."""
        return self.show(log_id)

    @extend_schema(request=CheckInItem, responses=RecordedCheckInSerializer)
    def patch(self, _request: Request, log_id: UUID) -> Response:
        """Correct a check-in; what it was is kept."""
        return self.correct(log_id)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, log_id: UUID) -> Response:
        """Delete a check-in; only its identity stays."""
        return self.empty(log_id)
