"""`/exercises/{id}/substitutes` and `/assignments/substitutions`."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from programs.actions.substitutions import WantedSubstitution, accept_substitutions
from programs.api.serializers.substitutes import (
    SubstitutesSerializer,
    SubstitutionResultsSerializer,
    SubstitutionsInSerializer,
    show_substitutes,
    show_substitution_results,
)
from programs.selectors.substitutes import list_substitutes


class SubstitutesView(OperationView):
    """What can be done in an exercise's place."""

    operations = {"GET": "substitutes.list"}
    query_parameters = {
        "GET": (
            QueryParameter(
                "client", "Only what fits this client's equipment, movements to avoid and complexity.", kind="uuid"
            ),
            QueryParameter(
                "avoid",
                "To be spared beside: movement patterns, keys of exercises, or `region:<site>`, such as `region:knee`.",
                many=True,
                default=(),
            ),
        )
    }
    versioned = False

    @extend_schema(responses=SubstitutesSerializer)
    def get(self, _request: Request, exercise: str) -> Response:
        """Rank what can be done in an exercise's place, with reasons and what is lost."""
        found = list_substitutes(
            actor=self.principal, exercise=exercise, client_id=self.query["client"], avoid=self.query["avoid"]
        )
        return Response(show_substitutes(found))


class SubstitutionsView(OperationView):
    """Accepting substitutes."""

    operations = {"POST": "substitutions.create"}

    @extend_schema(request=SubstitutionsInSerializer, responses=SubstitutionResultsSerializer)
    def post(self, _request: Request) -> Response:
        """Put substitutes into assignments: sessions to come and later versions have them; one result per entry."""
        body = self.body(SubstitutionsInSerializer)
        results = accept_substitutions(
            actor=self.principal,
            wanted=[
                WantedSubstitution(entry["assignment"], entry["exercise"], entry["substitute"])
                for entry in body["substitutions"]
            ],
            now=timezone.now(),
        )
        return Response(show_substitution_results(results))
