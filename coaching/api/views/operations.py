"""`/exports` and `/operations/{id}`."""

from collections.abc import Mapping
from tempfile import SpooledTemporaryFile
from typing import Any, Final
from uuid import UUID

from django.http import FileResponse, HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.audit_trail import Origin
from coaching.actions.exports import ask_for_audit_export, ask_for_business_export, ask_for_client_export
from coaching.actions.operations import cancel_operation, take_result
from coaching.api.serializers.operations import (
    ExportInSerializer,
    OperationSerializer,
    operation_address,
    show_operation,
)
from coaching.http.addresses import client_address
from coaching.http.renderers import OrjsonRenderer
from coaching.http.request_id import request_id_of
from coaching.http.views import OperationView
from coaching.models.operations import Operation, OperationState
from coaching.selectors.operations import get_operation, iterate_whole

_AGAIN_S: Final = "2"
_IN_MEMORY_BYTES: Final = 4_194_304


class ArchiveRenderer(BaseRenderer):
    """Lets a caller accept an archive and nothing else; its bytes are not DRF's to render."""

    media_type = "application/zip"
    format = "zip"
    charset = None
    render_style = "binary"

    def render(self, data: Any, _media_type: str | None = None, _context: Mapping[str, Any] | None = None) -> bytes:
        """Return the bytes as they are."""
        return bytes(data)


class ExportsView(OperationView):
    """Files of what the business holds."""

    operations = {"POST": "exports.create"}
    versioned = False

    @extend_schema(request=ExportInSerializer, responses={202: OperationSerializer})
    def post(self, _request: Request) -> Response:
        """Ask for a ZIP of JSON and CSV: a client's whole record, all that the business holds, or the trail.

        Owners and head coaches ask for any client, and a client for themselves: that file leaves out what the team
        alone may read. `Location` is where to ask whether it is done.
        """
        asked, now = self.body(ExportInSerializer), timezone.now()
        if "client" in asked:
            operation = ask_for_client_export(actor=self.principal, client_id=asked["client"], now=now)
        elif "audit" in asked:
            wanted = {name: str(value) for name, value in asked["audit"].items()}
            operation = ask_for_audit_export(actor=self.principal, wanted=wanted, now=now)
        else:
            operation = ask_for_business_export(actor=self.principal, now=now)
        headers = {"Location": operation_address(operation), "Retry-After": _AGAIN_S}
        return Response(show_operation(operation), status=202, headers=headers)


class LongOperationView(OperationView):
    """Work that takes longer than a request."""

    operations = {"GET": "operations.read", "DELETE": "operations.cancel"}
    versioned = False

    @extend_schema(responses=OperationSerializer)
    def get(self, _request: Request, operation_id: UUID) -> Response:
        """Say how far an operation is."""
        return _told(get_operation(actor=self.principal, operation_id=operation_id))

    @extend_schema(responses=OperationSerializer)
    def delete(self, _request: Request, operation_id: UUID) -> Response:
        """Cancel an operation that waits or runs."""
        return _told(cancel_operation(actor=self.principal, operation_id=operation_id, now=timezone.now()))


class OperationResultView(OperationView):
    """The file that an operation made."""

    operations = {"GET": "operations.result"}
    renderer_classes = [OrjsonRenderer, ArchiveRenderer]

    @extend_schema(responses={(200, "application/zip"): OpenApiTypes.BINARY})
    def get(self, request: Request, operation_id: UUID) -> HttpResponseBase:
        """Return the file, for a day after it was made; that it was taken stands in the trail."""
        operation = take_result(
            actor=self.principal,
            operation_id=operation_id,
            origin=Origin(client_address(request._request), request_id_of(request._request)),  # noqa: SLF001 -- the request that DRF wraps
            now=timezone.now(),
        )
        return _file(operation)


def _told(operation: Operation) -> Response:
    waits = operation.state in {OperationState.QUEUED, OperationState.RUNNING}
    return Response(show_operation(operation), headers={"Retry-After": _AGAIN_S} if waits else {})


def _file(operation: Operation) -> HttpResponseBase:
    headers = {
        "Content-Type": ArchiveRenderer.media_type,
        "Content-Disposition": f'attachment; filename="{operation.file_name}"',
        "Cache-Control": "no-store, private",
        "X-Content-Type-Options": "nosniff",
    }
    if operation.size_bytes <= _IN_MEMORY_BYTES:
        return HttpResponse(b"".join(iterate_whole(operation)), headers=headers)
    # Sent after the business's scope is closed, so it is read out of the database within it.
    file = SpooledTemporaryFile(max_size=_IN_MEMORY_BYTES)  # noqa: SIM115 -- the answer closes it
    for part in iterate_whole(operation):
        file.write(part)
    file.seek(0)
    return FileResponse(file, headers={**headers, "Content-Length": str(operation.size_bytes)})
