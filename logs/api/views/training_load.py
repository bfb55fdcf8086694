"""`/clients/{id}/training-load`."""

from typing import Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from logs.api.serializers.training_load import TrainingLoadSerializer, show_training_load
from logs.selectors.training_load import get_training_load

MOST_WEEKS: Final = 52


class TrainingLoadView(OperationView):
    """Load on the person."""

    operations = {"GET": "training_load.read"}
    query_parameters = {
        "GET": (
            QueryParameter(
                "weeks",
                f"How many weeks of days, the present one among them; 1 to {MOST_WEEKS}.",
                kind="integer",
                minimum=1,
                maximum=MOST_WEEKS,
                default=8,
            ),
        )
    }

    @extend_schema(responses=TrainingLoadSerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return a client's session load by day and week against their own history; not an injury predictor."""
        found = get_training_load(
            actor=self.principal, client_id=client_id, weeks=self.query["weeks"], now=timezone.now()
        )
        return Response(show_training_load(found))
