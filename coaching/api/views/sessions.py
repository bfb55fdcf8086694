"""`/sessions` and `/me`."""

from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.audit_trail import Origin
from coaching.actions.sessions import end_other_sessions, end_session, rotate_session
from coaching.actions.sign_in import sign_in
from coaching.api.serializers.sessions import (
    MeSerializer,
    RotatedSerializer,
    SessionSerializer,
    SignedInSerializer,
    SignInSerializer,
)
from coaching.http.addresses import client_address
from coaching.http.request_id import request_id_of
from coaching.http.schema import page_of
from coaching.http.unknown_fields import StrictSerializer
from coaching.http.views import OperationView
from coaching.refusals import NotFound
from coaching.selectors.callers import get_caller
from coaching.selectors.sessions import list_session_tokens


class SessionsView(OperationView):
    """Signed-in sessions."""

    operations = {"GET": "sessions.list", "POST": "sessions.create", "DELETE": "sessions.delete_others"}
    versioned = False
    lists = frozenset({"GET"})
    takes_idempotency_key = False

    @extend_schema(responses=page_of(SessionSerializer))
    def get(self, _request: Request) -> Response:
        """List your open sessions in this business, newest first."""
        rows = list_session_tokens(membership_id=self._membership_id(), now=timezone.now())
        return self.page(rows, order=("-created", "-digest"), show=self._show)

    @extend_schema(request=SignInSerializer, responses={201: SignedInSerializer})
    def post(self, _request: Request) -> Response:
        """Sign in; the token is shown this once.

        Where the account has a second factor, the right password without a code answers 401 with the code
        `second_factor_required`, and with one that is wrong or was used `second_factor_refused`.
        """
        sent = self.body(SignInSerializer)
        opened = sign_in(
            email=sent["email"],
            password=sent["password"],
            code=sent.get("code"),
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
            "needs_second_factor": opened.needs_second_factor,
        }
        return Response(answer, status=201, headers={"Location": f"/api/v1/sessions/{opened.session_id}"})

    @extend_schema(responses={204: None})
    def delete(self, _request: Request) -> Response:
        """End your other sessions in this business; this one stays."""
        self._membership_id()
        end_other_sessions(actor=self.principal)
        return Response(status=204)

    def _membership_id(self) -> UUID:
        if self.principal.membership_id is None:
            raise NotFound("An API key has no sessions.")
        return self.principal.membership_id

    def _show(self, tokens: list[Any]) -> list[dict[str, Any]]:
        return [
            {
                "id": token.session_id,
                "created_at": token.created,
                "last_used_at": token.last_used_at,
                "expires_at": token.expiry,
                "address": token.address,
                "current": token.session_id == self.principal.credential_id,
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


class SessionRotationView(OperationView):
    """A new token for the session that you have."""

    operations = {"POST": "sessions.rotate"}
    takes_idempotency_key = False

    @extend_schema(request=None, responses=RotatedSerializer)
    def post(self, request: Request) -> Response:
        """Exchange your token: the one that you send is refused at once, the new one is shown this once."""
        self.body(StrictSerializer)
        presented = request.headers["Authorization"].strip().partition(" ")[2].strip()
        rotated = rotate_session(actor=self.principal, presented=presented, now=timezone.now())
        return Response({"id": rotated.session_id, "token": rotated.token, "expires_at": rotated.expires_at})


class MeView(OperationView):
    """Who is calling."""

    operations = {"GET": "me.read"}

    @extend_schema(responses=MeSerializer)
    def get(self, _request: Request) -> Response:
        """Say who is calling, in which business, and what they may do."""
        return Response(get_caller(actor=self.principal))
