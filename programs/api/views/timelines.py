"""`/timeline-policy`, and the pace of a client beside it."""

from dataclasses import asdict
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.views import OperationView
from programs.actions.timelines import change_timeline
from programs.api.serializers.figures import figures_of
from programs.api.serializers.timelines import (
    TimelineChangeSerializer,
    TimelinePolicySerializer,
    show_timeline_policy,
)
from programs.selectors.session_paces import PaceReading, get_session_pace
from programs.selectors.timelines import get_own_timeline


class TimelinePolicyView(OperationView):
    """How the business's sessions are timed."""

    operations = {"GET": "timeline_policy.read", "PATCH": "timeline_policy.update"}

    @extend_schema(responses=TimelinePolicySerializer)
    def get(self, _request: Request) -> Response:
        """Return every figure by which a session's time is reckoned, and which are the business's own."""
        found = get_own_timeline()
        return self.single(show_timeline_policy(found), found.row_version)

    @extend_schema(request=TimelineChangeSerializer, responses=TimelinePolicySerializer)
    def patch(self, _request: Request) -> Response:
        """Change figures of time; what is planned from now on goes by them.

        Sessions that are planned already keep their planned minutes until something writes them out anew.
        """
        changes = self.body(TimelineChangeSerializer, partial=True)
        found = change_timeline(versions=self.versions(), changes=changes)
        return self.single(show_timeline_policy(found), found.row_version)


class SessionPaceView(OperationView):
    """How long a client takes beside what is planned."""

    operations = {"GET": "session_pace.read"}
    versioned = False

    @extend_schema(responses=figures_of(PaceReading))
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return the median of performed to planned minutes of the client's last sessions, or why there is none."""
        return Response(asdict(get_session_pace(actor=self.principal, client_id=client_id)))
