"""`/consent-texts` and `/clients/{id}/consents`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.consents import give_consent, withdraw_consent, write_consent_text
from coaching.api.serializers.consents import (
    ConsentInSerializer,
    ConsentSerializer,
    ConsentTextInSerializer,
    ConsentTextSerializer,
    ConsentWithdrawalSerializer,
    show_consent_text,
    shown_consent_texts,
    shown_consents,
)
from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.models.consents import ConsentKind
from coaching.selectors.consents import list_consent_texts, list_consents


class ConsentTextsView(OperationView):
    """The words that clients are asked to agree to."""

    operations = {"GET": "consent_texts.list", "POST": "consent_texts.create"}
    lists = frozenset({"GET"})
    versioned = False
    query_parameters = {"GET": (QueryParameter("kind", "Only this kind.", choices=tuple(ConsentKind.values)),)}

    @extend_schema(responses=page_of(ConsentTextSerializer))
    def get(self, _request: Request) -> Response:
        """List every version of the words, newest first."""
        return self.page(
            list_consent_texts(kind=self.query["kind"]),
            order=("-created_at", "-id"),
            show=lambda rows: shown_consent_texts(rows, self.principal),
        )

    @extend_schema(request=ConsentTextInSerializer, responses={201: ConsentTextSerializer})
    def post(self, _request: Request) -> Response:
        """Write down words as the next version of their kind; consents to those before stay what they were."""
        made = write_consent_text(actor=self.principal, now=timezone.now(), **self.body(ConsentTextInSerializer))
        return Response(show_consent_text(made), status=201)


class ConsentsView(OperationView):
    """What a client agreed to."""

    operations = {"GET": "consents.list", "POST": "consents.create"}
    lists = frozenset({"GET"})
    versioned = False

    @extend_schema(responses=page_of(ConsentSerializer))
    def get(self, _request: Request, client_id: UUID) -> Response:
        """List a client's consents, those taken back among them, newest first."""
        rows = list_consents(actor=self.principal, client_id=client_id)
        return self.page(rows, order=("-recorded_at", "-id"), show=lambda found: shown_consents(found, self.principal))

    @extend_schema(request=ConsentInSerializer, responses={201: ConsentSerializer})
    def post(self, _request: Request, client_id: UUID) -> Response:
        """Write down that a client agrees to words."""
        consent = give_consent(
            actor=self.principal, client_id=client_id, now=timezone.now(), **self.body(ConsentInSerializer)
        )
        return Response(shown_consents([consent], self.principal)[0], status=201)


class ConsentWithdrawalView(OperationView):
    """A client's taking back of a consent."""

    operations = {"POST": "consents.withdraw"}
    versioned = False

    @extend_schema(request=ConsentWithdrawalSerializer, responses=ConsentSerializer)
    def post(self, _request: Request, client_id: UUID, consent_id: UUID) -> Response:
        """Write down that a client takes a consent back; that it was given stays on record."""
        consent = withdraw_consent(
            actor=self.principal,
            client_id=client_id,
            consent_id=consent_id,
            now=timezone.now(),
            **self.body(ConsentWithdrawalSerializer),
        )
        return Response(shown_consents([consent], self.principal)[0])
