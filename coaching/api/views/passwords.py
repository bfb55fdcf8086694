"""`/password-resets` and `/me/password`."""

from functools import partial
from typing import Final

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.audit_trail import Origin
from coaching.actions.password_resets import confirm_password_reset, request_password_reset
from coaching.actions.passwords import WrongPassword, change_password, note_wrong_password
from coaching.api.serializers.passwords import (
    PasswordChangeSerializer,
    PasswordResetConfirmationSerializer,
    PasswordResetRequestedSerializer,
    PasswordResetSerializer,
)
from coaching.http.addresses import client_address
from coaching.http.refusal_notes import note_if_refused
from coaching.http.request_id import request_id_of
from coaching.http.views import OperationView

_REQUESTED: Final = "If there is an account with this address, a link to set a new password is on its way to it."


class PasswordResetsView(OperationView):
    """Passwords that were forgotten."""

    operations = {"POST": "password_resets.create"}
    takes_idempotency_key = False

    @extend_schema(request=PasswordResetSerializer, responses={202: PasswordResetRequestedSerializer})
    def post(self, _request: Request) -> Response:
        """Ask for a link to set a new password; the answer is the same whether or not there is an account."""
        email = self.body(PasswordResetSerializer)["email"]
        request_password_reset(email=email, origin=_origin(self.request), now=timezone.now())
        return Response({"detail": _REQUESTED}, status=202)


class PasswordResetConfirmationView(OperationView):
    """A new password, by the link that was sent."""

    operations = {"POST": "password_resets.confirm"}
    takes_idempotency_key = False

    @extend_schema(request=PasswordResetConfirmationSerializer, responses={204: None})
    def post(self, _request: Request) -> Response:
        """Set a new password, once; every session ends, and signing in asks for all that it asked before."""
        sent = self.body(PasswordResetConfirmationSerializer)
        confirm_password_reset(**sent, origin=_origin(self.request), now=timezone.now())
        return Response(status=204)


class OwnPasswordView(OperationView):
    """Your password."""

    operations = {"POST": "passwords.change"}
    takes_idempotency_key = False

    @extend_schema(request=PasswordChangeSerializer, responses={204: None})
    def post(self, _request: Request) -> Response:
        """Change your password; every session of yours but this one ends."""
        sent, origin, now = self.body(PasswordChangeSerializer), _origin(self.request), timezone.now()
        try:
            change_password(actor=self.principal, **sent, origin=origin, now=now)
        except WrongPassword:
            wrong = partial(note_wrong_password, actor=self.principal, origin=origin, now=now)
            note_if_refused(self.request, wrong)
            raise
        return Response(status=204)


def _origin(request: Request) -> Origin:
    return Origin(client_address(request), request_id_of(request))
