"""`/log-imports`."""

from typing import Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.unknown_fields import StrictSerializer
from coaching.http.views import OperationView
from logs.actions.import_runs import check_log_import, commit_log_import
from logs.actions.log_imports import change_log_import, create_log_import, forget_log_import, plain_source
from logs.api.log_uploads import UPLOAD_BODIES, UPLOAD_PARSERS, uploaded_file
from logs.api.serializers.log_imports import (
    LogImportChangeSerializer,
    LogImportCommitSerializer,
    LogImportDetailSerializer,
    LogImportSerializer,
    show_log_import_whole,
    show_log_imports,
)
from logs.models import LogImport
from logs.selectors.log_imports import get_log_import, list_log_imports

_UPLOAD_OPTIONS: Final = (
    QueryParameter("client", "Whose the whole file is; left out, a column names the clients.", kind="uuid"),
    QueryParameter(
        "source", "What the logs are filed under, after `import:`; keep it for files that overlap.", maximum=40
    ),
    QueryParameter("sheet", "Which sheet of a spreadsheet; left out, the first.", maximum=100),
)


class LogImportsView(OperationView):
    """Files of past logs."""

    operations = {"GET": "log_imports.list", "POST": "log_imports.create"}
    lists = frozenset({"GET"})
    query_parameters = {"POST": _UPLOAD_OPTIONS}
    parser_classes = UPLOAD_PARSERS

    @extend_schema(responses=page_of(LogImportSerializer))
    def get(self, _request: Request) -> Response:
        """List the imports that the caller began, newest first; heads see all."""
        rows = list_log_imports(actor=self.principal)
        return self.page(rows, order=("-created_at", "-id"), show=show_log_imports)

    @extend_schema(request=UPLOAD_BODIES, responses={201: LogImportDetailSerializer})
    def post(self, request: Request) -> Response:
        """Take a CSV or XLSX file of past logs and say what its columns are taken to hold; no log is written.

        Up to 50,000 rows and 100 columns, one row per set, the header first. The file is kept for 7 days at most.
        Where nothing tells a unit or which of two numbers is the month, `questions` asks.
        """
        row = create_log_import(
            actor=self.principal,
            content=uploaded_file(request),
            source=plain_source(self.query["source"]),
            client_id=self.query["client"],
            sheet=self.query["sheet"],
            now=timezone.now(),
        )
        return _whole(self, row, status=201)


class LogImportView(OperationView):
    """A file of past logs."""

    operations = {"GET": "log_imports.read", "PATCH": "log_imports.update", "DELETE": "log_imports.delete"}

    @extend_schema(responses=LogImportDetailSerializer)
    def get(self, _request: Request, log_import_id: UUID) -> Response:
        """Return an import: its columns, their mapping, what is open, and what the last run came to."""
        return _whole(self, get_log_import(actor=self.principal, log_import_id=log_import_id))

    @extend_schema(request=LogImportChangeSerializer, responses=LogImportDetailSerializer)
    def patch(self, _request: Request, log_import_id: UUID) -> Response:
        """Change how the table is read; a dry run must follow before it can be committed."""
        changes = self.body(LogImportChangeSerializer, partial=True)
        row = change_log_import(
            actor=self.principal, log_import_id=log_import_id, versions=self.versions(), changes=changes
        )
        return _whole(self, row)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, log_import_id: UUID) -> Response:
        """Forget the file and all that quotes from it; logs that it brought stay."""
        forget_log_import(
            actor=self.principal, log_import_id=log_import_id, versions=self.versions(), now=timezone.now()
        )
        return Response(status=204)


class LogImportDryRunView(OperationView):
    """What an import would do."""

    operations = {"POST": "log_imports.dry_run"}

    @extend_schema(request=None, responses=LogImportDetailSerializer)
    def post(self, _request: Request, log_import_id: UUID) -> Response:
        """Show what a commit would store, and every fault by row and column; nothing is written."""
        self.body(StrictSerializer)
        row = check_log_import(actor=self.principal, log_import_id=log_import_id, now=timezone.now())
        return _whole(self, row)


class LogImportCommitView(OperationView):
    """Writing an import."""

    operations = {"POST": "log_imports.commit"}

    @extend_schema(request=LogImportCommitSerializer, responses=LogImportDetailSerializer)
    def post(self, _request: Request, log_import_id: UUID) -> Response:
        """Write what the dry run showed, all of it or nothing; the same rows again are unchanged."""
        asked = self.body(LogImportCommitSerializer)
        row = commit_log_import(
            actor=self.principal,
            log_import_id=log_import_id,
            skip_faulty_rows=asked["skip_faulty_rows"],
            now=timezone.now(),
        )
        return _whole(self, row)


def _whole(view: OperationView, row: LogImport, *, status: int = 200) -> Response:
    location = f"/api/v1/log-imports/{row.id}" if status != 200 else None  # noqa: PLR2004 -- HTTP's own number
    return view.single(show_log_import_whole(row), row.row_version, status=status, location=location)
