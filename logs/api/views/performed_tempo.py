"""`/clients/{id}/performed-tempo` and `/session-logs/{id}/performed-tempo`."""

from typing import Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from logs.api.serializers.performed_tempo import (
    ClientTempoSerializer,
    SessionTempoSerializer,
    show_client_tempo,
    show_session_tempo,
)
from logs.selectors.performed_tempo import get_client_tempo, get_session_tempo

MOST_WEEKS: Final = 52


class ClientTempoView(OperationView):
    """A client's tempo as performed, lift by lift."""

    operations = {"GET": "performed_tempo.read"}
    query_parameters = {
        "GET": (
            QueryParameter(
                "weeks",
                f"How many weeks, the present one among them; 1 to {MOST_WEEKS}.",
                kind="integer",
                minimum=1,
                maximum=MOST_WEEKS,
                default=12,
            ),
            QueryParameter("exercise", "Of this exercise only, by its key or id."),
        )
    }

    @extend_schema(responses=ClientTempoSerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return how the tempos asked were kept, with faults by kind, time under tension and the weekly shares."""
        found = get_client_tempo(
            actor=self.principal,
            client_id=client_id,
            weeks=self.query["weeks"],
            exercise=self.query["exercise"],
            now=timezone.now(),
        )
        return Response(show_client_tempo(found))


class SessionTempoView(OperationView):
    """A session's tempo as performed, set by set."""

    operations = {"GET": "session_logs.performed_tempo"}

    @extend_schema(responses=SessionTempoSerializer)
    def get(self, _request: Request, log_id: UUID) -> Response:
        """Return each set's tempo asked and performed side by side, in the exercise's own words."""
        return Response(show_session_tempo(get_session_tempo(actor=self.principal, session_log_id=log_id)))
