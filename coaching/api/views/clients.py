"""`/clients`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.clients import create_client, update_client
from coaching.actions.memberships import remove_client_account
from coaching.api.serializers.clients import ClientInSerializer, ClientSerializer
from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.models.clients import ClientState
from coaching.models.consents import ConsentKind
from coaching.selectors.clients import get_client, list_clients


class ClientsView(OperationView):
    """The people coached."""

    operations = {"GET": "clients.list", "POST": "clients.create"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("coach", "Only this coach's.", kind="uuid"),
            QueryParameter("state", "Only these states.", choices=tuple(ClientState.values), many=True),
            QueryParameter("name", "Only names that begin so.", maximum=100),
            QueryParameter(
                "consent_missing",
                "Only those without a standing consent to the newest words of this kind.",
                choices=tuple(ConsentKind.values),
            ),
        )
    }

    @extend_schema(responses=page_of(ClientSerializer))
    def get(self, _request: Request) -> Response:
        """List the clients whom the caller may see, by name."""
        rows = list_clients(
            actor=self.principal,
            coach_id=self.query["coach"],
            states=self.query["state"],
            name_prefix=self.query["name"],
            consent_missing=self.query["consent_missing"],
        )
        return self.page(rows, order=("name", "id"), show=list)

    @extend_schema(request=ClientInSerializer, responses={201: ClientSerializer})
    def post(self, _request: Request) -> Response:
        """Take on a client."""
        client = create_client(actor=self.principal, now=timezone.now(), **self.body(ClientInSerializer))
        return self.single(client, client["row_version"], status=201, location=f"/api/v1/clients/{client['id']}")


class ClientView(OperationView):
    """A person coached."""

    operations = {"GET": "clients.read", "PATCH": "clients.update"}

    @extend_schema(responses=ClientSerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return a client."""
        client = get_client(actor=self.principal, client_id=client_id)
        return self.single(client, client["row_version"])

    @extend_schema(request=ClientInSerializer, responses=ClientSerializer)
    def patch(self, _request: Request, client_id: UUID) -> Response:
        """Change what is known of a client; a new time zone holds from now on."""
        client = update_client(
            actor=self.principal,
            client_id=client_id,
            versions=self.versions(),
            now=timezone.now(),
            **self.body(ClientInSerializer, partial=True),
        )
        return self.single(client, client["row_version"])


class ClientAccountView(OperationView):
    """A client's own access to their record."""

    operations = {"DELETE": "client_accounts.delete"}
    versioned = False

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, client_id: UUID) -> Response:
        """Take a client's own access away; their sessions end, and the record stays."""
        remove_client_account(actor=self.principal, client_id=client_id)
        return Response(status=204)
