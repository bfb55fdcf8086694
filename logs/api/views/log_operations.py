"""What `/session-logs`, `/set-logs` and `/check-ins` do alike."""

from typing import Any, ClassVar, Final
from uuid import UUID

from django.utils import timezone
from rest_framework.response import Response

from coaching.http.views import OperationView
from coaching.refusals import Invalid
from logs.actions.log_deletions import delete_log
from logs.actions.log_fields import Kind
from logs.actions.single_logs import RecordedLog, check_version, correct_log, record_log
from logs.api.batch_answers import show_cautions
from logs.api.batch_body import read_item
from logs.api.log_changes import corrected
from logs.api.shown_logs import show_log, show_logs, show_revisions
from logs.selectors.logs_by_kind import get_log, get_own_log, list_logs, list_revisions, visible_log_or_deleted

_PATHS: Final[dict[Kind, str]] = {"session_log": "session-logs", "set_log": "set-logs", "check_in": "check-ins"}


class LogsView(OperationView):
    """The list of one kind of log, and its way in."""

    kind: ClassVar[Kind]

    def list_page(self) -> Response:
        """Answer with a page of the list."""
        rows = list_logs(
            actor=self.principal,
            kind=self.kind,
            client_id=self.query["client"],
            session_log_id=self.query.get("session_log"),
            first=self.query["from"],
            last=self.query["to"],
        )
        return self.page(rows, order=("-local_date", "-id"), show=lambda found: show_logs(self.kind, found))

    def record(self) -> Response:
        """Take one log."""
        sent = self.document()
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


class LogRevisionsView(OperationView):
    """The past of one log of one kind."""

    kind: ClassVar[Kind]
    versioned = False

    def show(self, log_id: UUID) -> Response:
        """Answer with what corrections replaced."""
        row = visible_log_or_deleted(actor=self.principal, kind=self.kind, log_id=log_id)
        revisions = list_revisions(actor=self.principal, kind=self.kind, log_id=log_id)
        shown = {name: row[name] for name in ("row_version", "received_at", "deleted_at")}
        return Response({**shown, "items": show_revisions(self.kind, revisions, row)})


class LogView(OperationView):
    """One log of one kind."""

    kind: ClassVar[Kind]

    def show(self, log_id: UUID) -> Response:
        """Answer with the log."""
        row = get_log(actor=self.principal, kind=self.kind, log_id=log_id)
        shown = show_log(self.kind, row)
        if self.query["history"]:
            shown["history"] = show_revisions(
                self.kind, list_revisions(actor=self.principal, kind=self.kind, log_id=log_id), row
            )
        return self.single(shown, row["row_version"])

    def correct(self, log_id: UUID) -> Response:
        """Replace its content."""
        versions = self.versions()
        row = get_own_log(actor=self.principal, kind=self.kind, log_id=log_id)
        seen: int = row["row_version"]
        sent = corrected(self.kind, row, self.document())
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

    def empty(self, log_id: UUID) -> Response:
        """Delete it."""
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
