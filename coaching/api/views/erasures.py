"""`/clients/{id}/erasure`, and the ledger of them."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.erasures import erase_client
from coaching.api.serializers.erasures import ErasureInSerializer, ErasureSerializer, show_erasure
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.selectors.erasures import list_erasures


class ClientErasureView(OperationView):
    """The end of a client's record."""

    operations = {"POST": "erasures.create"}
    versioned = False

    @extend_schema(request=ErasureInSerializer, responses=ErasureSerializer)
    def post(self, _request: Request, client_id: UUID) -> Response:
        """Remove a client and all that is held of them, for good; counts and the trail of ids stay.

        Logs that come for them later are refused. Open files with logs of several clients are forgotten, since they
        may name them. Backups made before still hold them, until they expire.
        """
        erased = erase_client(
            actor=self.principal, client_id=client_id, now=timezone.now(), **self.body(ErasureInSerializer)
        )
        return Response(show_erasure(erased))


class ErasuresView(OperationView):
    """The ledger of erasures."""

    operations = {"GET": "erasures.list"}
    lists = frozenset({"GET"})

    @extend_schema(responses=page_of(ErasureSerializer))
    def get(self, _request: Request) -> Response:
        """List who was erased, by the id that they had, newest first."""
        return self.page(list_erasures(), order=("-erased_at", "-id"), show=list)
