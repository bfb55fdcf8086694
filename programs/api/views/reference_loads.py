"""`/clients/{id}/reference-loads`, and each of them."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.schema import page_of
from coaching.http.views import OperationView
from programs.actions.reference_loads import change_tempo_factors, record_reference_load
from programs.api.serializers.reference_loads import (
    ReferenceLoadChangeSerializer,
    ReferenceLoadInSerializer,
    ReferenceLoadSerializer,
    show_reference_load,
    show_reference_loads,
)
from programs.selectors.reference_loads import get_reference_load, list_reference_loads


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


class ReferenceLoadView(OperationView):
    """One of them."""

    operations = {"GET": "reference_loads.read", "PATCH": "reference_loads.update"}

    @extend_schema(responses=ReferenceLoadSerializer)
    def get(self, _request: Request, client_id: UUID, reference_load_id: UUID) -> Response:
        """Return a reference load."""
        return self._shown(client_id, reference_load_id)

    @extend_schema(request=ReferenceLoadChangeSerializer, responses=ReferenceLoadSerializer)
    def patch(self, _request: Request, client_id: UUID, reference_load_id: UUID) -> Response:
        """Set what it is taken times at slow and paused tempos; percentages of the sessions to come follow.

        The load itself never changes: record another one instead.
        """
        change_tempo_factors(
            actor=self.principal,
            client_id=client_id,
            reference_load_id=reference_load_id,
            versions=self.versions(),
            now=timezone.now(),
            **self.body(ReferenceLoadChangeSerializer),
        )
        return self._shown(client_id, reference_load_id)

    def _shown(self, client_id: UUID, reference_load_id: UUID) -> Response:
        row = get_reference_load(actor=self.principal, client_id=client_id, reference_load_id=reference_load_id)
        return self.single(show_reference_load(row), row.row_version)
