"""`/invitations`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.audit_trail import Origin
from coaching.actions.invitation_acceptance import accept_invitation
from coaching.actions.invitations import invite, resend_invitation, withdraw_invitation
from coaching.api.serializers.invitations import (
    InvitationAcceptanceSerializer,
    InvitationAcceptedSerializer,
    InvitationInSerializer,
    InvitationSerializer,
)
from coaching.http.addresses import client_address
from coaching.http.query_parameters import QueryParameter
from coaching.http.request_id import request_id_of
from coaching.http.schema import page_of
from coaching.http.unknown_fields import StrictSerializer
from coaching.http.views import OperationView
from coaching.selectors.invitations import STATES, get_invitation, list_invitations


class InvitationsView(OperationView):
    """Who was invited."""

    operations = {"GET": "invitations.list", "POST": "invitations.create"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("state", "Only in this state.", choices=tuple(word for word, _label in STATES)),
            QueryParameter("client", "Only to this client's record.", kind="uuid"),
        )
    }

    @extend_schema(responses=page_of(InvitationSerializer))
    def get(self, _request: Request) -> Response:
        """List invitations, newest first: an owner's are all, others' those to clients whom they may see."""
        rows = list_invitations(
            actor=self.principal, now=timezone.now(), state=self.query["state"], client_id=self.query["client"]
        )
        return self.page(rows, order=("-created_at", "-id"), show=list)

    @extend_schema(request=InvitationInSerializer, responses={201: InvitationSerializer})
    def post(self, _request: Request) -> Response:
        """Invite somebody; the mail goes out within seconds, and its link is good once, for seven days."""
        made = invite(actor=self.principal, now=timezone.now(), **self.body(InvitationInSerializer))
        return Response(made, status=201, headers={"Location": f"/api/v1/invitations/{made['id']}"})


class InvitationView(OperationView):
    """An invitation."""

    operations = {"GET": "invitations.read", "DELETE": "invitations.delete"}
    versioned = False

    @extend_schema(responses=InvitationSerializer)
    def get(self, _request: Request, invitation_id: UUID) -> Response:
        """Return an invitation."""
        found = get_invitation(actor=self.principal, invitation_id=invitation_id, now=timezone.now())
        return Response(found)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, invitation_id: UUID) -> Response:
        """Withdraw an invitation: its link is void from now on."""
        withdraw_invitation(actor=self.principal, invitation_id=invitation_id, now=timezone.now())
        return Response(status=204)


class InvitationResendView(OperationView):
    """The mail of an invitation."""

    operations = {"POST": "invitations.resend"}

    @extend_schema(request=None, responses=InvitationSerializer)
    def post(self, _request: Request, invitation_id: UUID) -> Response:
        """Send an invitation again, good for another seven days; links sent before are void."""
        self.body(StrictSerializer)
        return Response(resend_invitation(actor=self.principal, invitation_id=invitation_id, now=timezone.now()))


class InvitationAcceptanceView(OperationView):
    """The answer to an invitation."""

    operations = {"POST": "invitations.accept"}
    takes_idempotency_key = False

    @extend_schema(request=InvitationAcceptanceSerializer, responses={201: InvitationAcceptedSerializer})
    def post(self, _request: Request) -> Response:
        """Accept an invitation by its link: makes the account, or adds the business to the one there is."""
        accepted = accept_invitation(
            origin=Origin(client_address(self.request), request_id_of(self.request)),
            now=timezone.now(),
            **self.body(InvitationAcceptanceSerializer),
        )
        answer = {
            "business": {"id": accepted.business_id, "name": accepted.business_name},
            "role": accepted.role,
            "new_account": accepted.is_new,
        }
        return Response(answer, status=201)
