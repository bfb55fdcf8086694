"""`/clients/{id}/readiness`."""

from typing import Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from logs.api.serializers.readiness import ClientReadinessSerializer, show_readiness
from logs.selectors.readiness import get_readiness

MOST_DAYS: Final = 56


class ReadinessView(OperationView):
    """What the flags make of a client's days."""

    operations = {"GET": "readiness.read"}
    query_parameters = {
        "GET": (
            QueryParameter(
                "days",
                f"How many days, today the first; 1 to {MOST_DAYS}.",
                kind="integer",
                minimum=1,
                maximum=MOST_DAYS,
                default=7,
            ),
        )
    }

    @extend_schema(responses=ClientReadinessSerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return each day's verdict with its evidence, or why it is unknown; it clears nobody."""
        found = get_readiness(actor=self.principal, client_id=client_id, days=self.query["days"], now=timezone.now())
        return Response(show_readiness(found))
