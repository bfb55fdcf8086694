"""`/clients/{id}/reference-loads`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.schema import page_of
from coaching.http.views import OperationView
from programs.actions.reference_loads import record_reference_load
from programs.api.serializers.reference_loads import (
    ReferenceLoadInSerializer,
    ReferenceLoadSerializer,
    show_reference_load,
    show_reference_loads,
)
from programs.selectors.reference_loads import list_reference_loads


class ReferenceLoadsView(OperationView):
    """What a client can lift."""

    operations = {"GET": "reference_loads.list", "POST": "reference_loads.create"}
    lists = frozenset({"GET"})

    @extend_schema(responses=page_of(ReferenceLoadSerializer))
    def get(self, _request: Request, client_id: UUID) -> Response:
        """List a client's reference loads, newest first."""
        rows = list_reference_loads(actor=self.principal, client_id=client_id)
        return self.page(rows, order=("-on_date", "-id"), show=show_reference_loads)

    @extend_schema(request=ReferenceLoadInSerializer, responses={201: ReferenceLoadSerializer})
    def post(self, _request: Request, client_id: UUID) -> Response:
        """Record a reference load; percentages of the sessions to come resolve against it from now on."""
        row = record_reference_load(
            actor=self.principal,
            client_id=client_id,
            now=timezone.now(),
            **self.body(ReferenceLoadInSerializer),
        )
        return self.single(show_reference_load(row), row.row_version, status=201)
