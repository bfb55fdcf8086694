"""`/clients/{id}/progress`."""

from typing import Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from logs.api.serializers.progress import ProgressSerializer, show_progress
from logs.selectors.client_weeks import get_progress

MOST_WEEKS: Final = 104


class ProgressView(OperationView):
    """A client's weeks in figures."""

    operations = {"GET": "progress.read"}
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
        )
    }

    @extend_schema(responses=ProgressSerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return a client's weekly rows, oldest first."""
        progress = get_progress(
            actor=self.principal, client_id=client_id, weeks=self.query["weeks"], now=timezone.now()
        )
        return Response(show_progress(progress))
