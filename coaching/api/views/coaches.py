"""`/coaches`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.memberships import add_coach, remove_coach, update_coach
from coaching.api.serializers.coaches import TEAM_ROLES, CoachChangeSerializer, CoachInSerializer, CoachSerializer
from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.models.people import MembershipState
from coaching.selectors.memberships import get_coach, list_coaches


class CoachesView(OperationView):
    """The team."""

    operations = {"GET": "coaches.list", "POST": "coaches.create"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("role", "Only this role.", choices=tuple(value for value, _label in TEAM_ROLES)),
            QueryParameter("state", "Only those active, or those who left.", choices=tuple(MembershipState.values)),
        )
    }

    @extend_schema(responses=page_of(CoachSerializer))
    def get(self, _request: Request) -> Response:
        """List the team, by when each joined."""
        rows = list_coaches(role=self.query["role"], state=self.query["state"])
        return self.page(rows, order=("created_at", "id"), show=list)

    @extend_schema(request=CoachInSerializer, responses={201: CoachSerializer})
    def post(self, _request: Request) -> Response:
        """Put somebody on the team; somebody who left comes back."""
        coach = add_coach(actor=self.principal, **self.body(CoachInSerializer))
        return self.single(coach, coach["row_version"], status=201, location=f"/api/v1/coaches/{coach['id']}")


class CoachView(OperationView):
    """Somebody on the team."""

    operations = {"GET": "coaches.read", "PATCH": "coaches.update", "DELETE": "coaches.delete"}

    @extend_schema(responses=CoachSerializer)
    def get(self, _request: Request, coach_id: UUID) -> Response:
        """Return somebody on the team."""
        coach = get_coach(membership_id=coach_id)
        return self.single(coach, coach["row_version"])

    @extend_schema(request=CoachChangeSerializer, responses=CoachSerializer)
    def patch(self, _request: Request, coach_id: UUID) -> Response:
        """Change a role or time zone; a change of role ends their sessions."""
        changes = self.body(CoachChangeSerializer, partial=True)
        coach = update_coach(
            actor=self.principal, membership_id=coach_id, versions=self.versions(), now=timezone.now(), **changes
        )
        return self.single(coach, coach["row_version"])

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, coach_id: UUID) -> Response:
        """Let a coach leave; refused while they have clients."""
        remove_coach(actor=self.principal, membership_id=coach_id, versions=self.versions(), now=timezone.now())
        return Response(status=204)
