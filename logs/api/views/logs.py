"""`/session-logs`, `/set-logs` and `/check-ins`: what a batch does, for one log at a time."""

from typing import Any, ClassVar, Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.refusals import Invalid
from logs.actions.log_deletions import delete_log
from logs.actions.log_fields import Kind
from logs.actions.single_logs import RecordedLog, check_version, correct_log, record_log
from logs.api.batch_answers import show_cautions
from logs.api.batch_body import read_item
from logs.api.items import CheckInItem, SessionLogItem, SetLogItem
from logs.api.log_changes import corrected
from logs.api.serializers.logs import (
    CheckInSerializer,
    RecordedCheckInSerializer,
    RecordedSessionLogSerializer,
    RecordedSetLogSerializer,
    SessionLogSerializer,
    SetLogSerializer,
)
from logs.api.shown_logs import show_log, show_logs, show_revisions
from logs.selectors.logs_by_kind import get_log, get_own_log, list_logs, list_revisions

_PATHS: Final[dict[Kind, str]] = {"session_log": "session-logs", "set_log": "set-logs", "check_in": "check-ins"}
_OF_CLIENT: Final = (
    QueryParameter("client", "Only this client's.", kind="uuid"),
    QueryParameter("from", "From this local date on.", kind="date"),
    QueryParameter("to", "Up to this local date.", kind="date"),
)
_OF_SESSION: Final = QueryParameter("session_log", "Only this session's.", kind="uuid")
_HISTORY: Final = QueryParameter("history", "Also what corrections replaced.", kind="boolean", default=False)


class _LogsView(OperationView):
    kind: ClassVar[Kind]

    def _page(self) -> Response:
        rows = list_logs(
            actor=self.principal,
            kind=self.kind,
            client_id=self.query["client"],
            session_log_id=self.query.get("session_log"),
            first=self.query["from"],
            last=self.query["to"],
        )
        return self.page(rows, order=("-local_date", "-id"), show=lambda found: show_logs(self.kind, found))

    def _record(self) -> Response:
        sent = dict(self.request.data)
        source = sent.pop("source", None)
        if source is not None and not isinstance(source, str):
            raise Invalid.at("#/source", "source is text, in quotes.", "string_type")
        item = read_item(self.kind, sent)
        recorded = record_log(actor=self.principal, source=source, item=item, now=timezone.now())
        if item.id is None:
            return Response(_answer(recorded, None))
        row = get_own_log(actor=self.principal, kind=self.kind, log_id=UUID(item.id))
        created = item.result == "created"
        return self.single(
            _answer(recorded, show_log(self.kind, row)),
            row["row_version"],
            status=201 if created else 200,
            location=f"/api/v1/{_PATHS[self.kind]}/{item.id}" if created else None,
        )


class _LogView(OperationView):
    kind: ClassVar[Kind]

    def _show(self, log_id: UUID) -> Response:
        row = get_log(actor=self.principal, kind=self.kind, log_id=log_id)
        shown = show_log(self.kind, row)
        if self.query["history"]:
            shown["history"] = show_revisions(self.kind, list_revisions(kind=self.kind, log_id=log_id))
        return self.single(shown, row["row_version"])

    def _correct(self, log_id: UUID) -> Response:
        versions = self.versions()
        row = get_own_log(actor=self.principal, kind=self.kind, log_id=log_id)
        seen: int = row["row_version"]
        sent = corrected(self.kind, row, self.request.data)
        if sent is None:
            check_version(
                actor=self.principal,
                kind=self.kind,
                log_id=log_id,
                client=str(row["client_id"]),
                versions=versions,
                seen=seen,
            )
            return self.single(_nothing_changed(self.kind, row), seen)
        recorded = correct_log(
            actor=self.principal,
            log_id=log_id,
            versions=versions,
            seen=seen,
            source=row["source"],
            item=read_item(self.kind, sent),
            now=timezone.now(),
        )
        row = get_own_log(actor=self.principal, kind=self.kind, log_id=log_id)
        return self.single(_answer(recorded, show_log(self.kind, row)), row["row_version"])

    def _delete(self, log_id: UUID) -> Response:
        delete_log(actor=self.principal, kind=self.kind, log_id=log_id, versions=self.versions(), now=timezone.now())
        return Response(status=204)


def _answer(recorded: RecordedLog, log: dict[str, Any] | None) -> dict[str, Any]:
    item = recorded.item
    answer: dict[str, Any] = {
        "id": item.id,
        "external_id": item.external_id,
        "outcome": item.result,
        "cautions": show_cautions(recorded.cautions),
        "log": log,
    }
    if item.superseded:
        answer["superseded"] = True
    if item.result == "held":
        answer["waits_for"] = item.fields["session_external_id"]
    if item.notes:
        answer["notes"] = item.notes
    return answer


def _nothing_changed(kind: Kind, row: dict[str, Any]) -> dict[str, Any]:
    return {
        "id": row["id"],
        "external_id": row["external_id"],
        "outcome": "unchanged",
        "cautions": [],
        "log": show_log(kind, row),
    }


class SessionLogsView(_LogsView):
    """Sessions performed."""

    kind = "session_log"
    operations = {"GET": "session_logs.list", "POST": "session_logs.create"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": _OF_CLIENT}

    @extend_schema(responses=page_of(SessionLogSerializer))
    def get(self, _request: Request) -> Response:
        """List session logs, latest date first."""
        return self._page()

    @extend_schema(
        request=SessionLogItem, responses={201: RecordedSessionLogSerializer, 200: RecordedSessionLogSerializer}
    )
    def post(self, _request: Request) -> Response:
        """Log a session; the same one again is unchanged or corrected (200)."""
        return self._record()


class SessionLogView(_LogView):
    """A session performed."""

    kind = "session_log"
    operations = {"GET": "session_logs.read", "PATCH": "session_logs.update", "DELETE": "session_logs.delete"}
    query_parameters = {"GET": (_HISTORY,)}

    @extend_schema(responses=SessionLogSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return a session log."""
        return self._show(log_id)

    @extend_schema(request=SessionLogItem, responses=RecordedSessionLogSerializer)
    def patch(self, _request: Request, log_id: UUID) -> Response:
        """Correct a session log; what it was is kept."""
        return self._correct(log_id)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, log_id: UUID) -> Response:
        """Delete a session log and its sets; only their identity stays."""
        return self._delete(log_id)


class SetLogsView(_LogsView):
    """Sets performed."""

    kind = "set_log"
    operations = {"GET": "set_logs.list", "POST": "set_logs.create"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": (*_OF_CLIENT, _OF_SESSION)}

    @extend_schema(responses=page_of(SetLogSerializer))
    def get(self, _request: Request) -> Response:
        """List set logs, latest date first."""
        return self._page()

    @extend_schema(request=SetLogItem, responses={201: RecordedSetLogSerializer, 200: RecordedSetLogSerializer})
    def post(self, _request: Request) -> Response:
        """Log a set; the same one again is unchanged or corrected (200), one without its session is held (200)."""
        return self._record()


class SetLogView(_LogView):
    """A set performed."""

    kind = "set_log"
    operations = {"GET": "set_logs.read", "PATCH": "set_logs.update", "DELETE": "set_logs.delete"}
    query_parameters = {"GET": (_HISTORY,)}

    @extend_schema(responses=SetLogSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return a set log."""
        return self._show(log_id)

    @extend_schema(request=SetLogItem, responses=RecordedSetLogSerializer)
    def patch(self, _request: Request, log_id: UUID) -> Response:
        """Correct a set log; what it was is kept."""
        return self._correct(log_id)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, log_id: UUID) -> Response:
        """Delete a set log; only its identity stays."""
        return self._delete(log_id)


class CheckInsView(_LogsView):
    """How people say they are."""

    kind = "check_in"
    operations = {"GET": "check_ins.list", "POST": "check_ins.create"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": _OF_CLIENT}

    @extend_schema(responses=page_of(CheckInSerializer))
    def get(self, _request: Request) -> Response:
        """List check-ins, latest date first."""
        return self._page()

    @extend_schema(request=CheckInItem, responses={201: RecordedCheckInSerializer, 200: RecordedCheckInSerializer})
    def post(self, _request: Request) -> Response:
        """Check in; the same one again is unchanged or corrected (200). Read `cautions` to the person at once."""
        return self._record()


class CheckInView(_LogView):
    """How a person said they were."""

    kind = "check_in"
    operations = {"GET": "check_ins.read", "PATCH": "check_ins.update", "DELETE": "check_ins.delete"}
    query_parameters = {"GET": (_HISTORY,)}

    @extend_schema(responses=CheckInSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return a check-in."""
        return self._show(log_id)

    @extend_schema(request=CheckInItem, responses=RecordedCheckInSerializer)
    def patch(self, _request: Request, log_id: UUID) -> Response:
        """Correct a check-in; what it was is kept."""
        return self._correct(log_id)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, log_id: UUID) -> Response:
        """Delete a check-in; only its identity stays."""
        return self._delete(log_id)
