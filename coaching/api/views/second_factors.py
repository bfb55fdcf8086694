"""`/me/second-factor`."""

from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.audit_trail import Origin
from coaching.actions.passwords import WrongPassword
from coaching.actions.second_factors import (
    WrongCode,
    confirm_second_factor,
    note_refused_proof,
    renew_recovery_codes,
    start_second_factor,
    turn_off_second_factor,
)
from coaching.api.serializers.second_factors import (
    RecoveryCodesSerializer,
    SecondFactorConfirmationSerializer,
    SecondFactorEnrolmentSerializer,
    SecondFactorProofSerializer,
    SecondFactorSerializer,
    SecondFactorStartSerializer,
)
from coaching.http.addresses import client_address
from coaching.http.refusal_notes import note_if_refused
from coaching.http.request_id import request_id_of
from coaching.http.views import OperationView
from coaching.models.sign_in_attempts import Refused
from coaching.selectors.second_factors import get_second_factor

Answer = TypeVar("Answer")


class ProvingView(OperationView):
    """Takes the caller's password or a code; a wrong one counts as an attempt to sign in."""

    takes_idempotency_key = False

    def proved(self, act: Callable[..., Answer], **sent: Any) -> Answer:
        """Do it for the caller."""
        origin, now = Origin(client_address(self.request), request_id_of(self.request)), timezone.now()
        note = partial(note_refused_proof, actor=self.principal, origin=origin, now=now)
        try:
            return act(actor=self.principal, origin=origin, now=now, **sent)
        except WrongPassword:
            note_if_refused(self.request, partial(note, refused=Refused.WRONG_PASSWORD))
            raise
        except WrongCode:
            note_if_refused(self.request, partial(note, refused=Refused.WRONG_CODE))
            raise


class SecondFactorView(ProvingView):
    """Your second factor."""

    operations = {"GET": "second_factor.read", "POST": "second_factor.start"}

    @extend_schema(responses=SecondFactorSerializer)
    def get(self, _request: Request) -> Response:
        """Say whether your second factor is on, and how many recovery codes are left."""
        state = get_second_factor(actor=self.principal)
        answer = {
            "stands": state.stands,
            "since": state.since,
            "recovery_codes_left": state.recovery_codes_left,
            "required": state.required,
        }
        return Response(answer)

    @extend_schema(request=SecondFactorStartSerializer, responses={201: SecondFactorEnrolmentSerializer})
    def post(self, _request: Request) -> Response:
        """Start one: put the secret into an authenticator app, then confirm its first code."""
        enrolment = self.proved(start_second_factor, **self.body(SecondFactorStartSerializer))
        return Response({"secret": enrolment.secret, "uri": enrolment.uri}, status=201)


class SecondFactorConfirmationView(ProvingView):
    """Turning it on."""

    operations = {"POST": "second_factor.confirm"}

    @extend_schema(request=SecondFactorConfirmationSerializer, responses=RecoveryCodesSerializer)
    def post(self, _request: Request) -> Response:
        """Turn it on by its first code; your other sessions end, and ten recovery codes are shown this once."""
        code = self.body(SecondFactorConfirmationSerializer)["code"]
        codes = confirm_second_factor(actor=self.principal, code=code, now=timezone.now())
        return Response({"recovery_codes": codes})


class SecondFactorEndView(ProvingView):
    """Turning it off."""

    operations = {"POST": "second_factor.turn_off"}

    @extend_schema(request=SecondFactorProofSerializer, responses={204: None})
    def post(self, _request: Request) -> Response:
        """Turn it off by your password and a code; your other sessions end."""
        self.proved(turn_off_second_factor, **self.body(SecondFactorProofSerializer))
        return Response(status=204)


class RecoveryCodesView(ProvingView):
    """Your recovery codes."""

    operations = {"POST": "second_factor.renew_codes"}

    @extend_schema(request=SecondFactorProofSerializer, responses=RecoveryCodesSerializer)
    def post(self, _request: Request) -> Response:
        """Make a new set by your password and a code; it is shown this once, and the old codes are void."""
        codes = self.proved(renew_recovery_codes, **self.body(SecondFactorProofSerializer))
        return Response({"recovery_codes": codes})
