"""`/sessions` and `/me`."""

from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.audit_trail import Origin
from coaching.actions.sessions import end_session, session_id_of, sign_in
from coaching.api.serializers.sessions import MeSerializer, SessionSerializer, SignedInSerializer, SignInSerializer
from coaching.http.addresses import client_address
from coaching.http.request_id import request_id_of
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.refusals import NotFound
from coaching.selectors.callers import get_caller
from coaching.selectors.sessions import list_session_tokens


class SessionsView(OperationView):
    """Signed-in sessions."""

    operations = {"GET": "sessions.list", "POST": "sessions.create"}
    lists = frozenset({"GET"})
    takes_idempotency_key = False

    @extend_schema(responses=page_of(SessionSerializer))
    def get(self, _request: Request) -> Response:
        """List your sessions, newest first."""
        rows = list_session_tokens(membership_id=self._membership_id())
        return self.page(rows, order=("-created", "-digest"), show=self._show)

    @extend_schema(request=SignInSerializer, responses={201: SignedInSerializer})
    def post(self, _request: Request) -> Response:
        """Sign in; the token is shown this once."""
        sent = self.body(SignInSerializer)
        opened = sign_in(
            email=sent["email"],
            password=sent["password"],
            business_id=sent.get("business"),
            origin=Origin(client_address(self.request), request_id_of(self.request)),
            now=timezone.now(),
        )
        answer = {
            "id": opened.session_id,
            "token": opened.token,
            "expires_at": opened.expires_at,
            "business": {"id": opened.place.business_id, "name": opened.place.business_name},
            "role": opened.place.role,
        }
        return Response(answer, status=201, headers={"Location": f"/api/v1/sessions/{opened.session_id}"})

    def _membership_id(self) -> UUID:
        if self.principal.membership_id is None:
            raise NotFound("An API key has no sessions.")
        return self.principal.membership_id

    def _show(self, tokens: list[Any]) -> list[dict[str, Any]]:
        return [
            {
                "id": session_id_of(token),
                "created_at": token.created,
                "expires_at": token.expiry,
                "current": session_id_of(token) == self.principal.credential_id,
            }
            for token in tokens
        ]


class SessionView(OperationView):
    """One of your sessions."""

    operations = {"DELETE": "sessions.delete"}
    versioned = False

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, session_id: UUID) -> Response:
        """End one of your sessions."""
        if self.principal.membership_id is None:
            raise NotFound("An API key has no sessions.")
        end_session(membership_id=self.principal.membership_id, session_id=session_id)
        return Response(status=204)


class MeView(OperationView):
    """Who is calling."""

    operations = {"GET": "me.read"}

    @extend_schema(responses=MeSerializer)
    def get(self, _request: Request) -> Response:
        """Say who is calling, in which business, and what they may do."""
        return Response(get_caller(actor=self.principal))
