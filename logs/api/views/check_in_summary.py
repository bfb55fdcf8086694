"""`/clients/{id}/check-in-summary`."""

from typing import Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from logs.api.serializers.check_in_summary import CheckInSummarySerializer, show_check_in_summary
from logs.selectors.check_in_summary import get_check_in_summary

MOST_DAYS: Final = 90


class CheckInSummaryView(OperationView):
    """What a client's check-ins say."""

    operations = {"GET": "check_in_summary.read"}
    query_parameters = {
        "GET": (
            QueryParameter(
                "days",
                f"How many days are shown, today the last; 1 to {MOST_DAYS}.",
                kind="integer",
                minimum=1,
                maximum=MOST_DAYS,
                default=28,
            ),
        )
    }

    @extend_schema(responses=CheckInSummarySerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return answers, heart rate, its variability and bodyweight against the client's own earlier ones."""
        found = get_check_in_summary(
            actor=self.principal, client_id=client_id, days=self.query["days"], now=timezone.now()
        )
        return Response(show_check_in_summary(found))
