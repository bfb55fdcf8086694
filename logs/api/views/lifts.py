"""`/clients/{id}/lifts`, `/clients/{id}/lifts/{exercise}` and `/lifts`."""

from functools import partial
from typing import Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from logs.analysis.trend_verdicts import VERDICTS
from logs.api.serializers.lift import LiftSerializer
from logs.api.serializers.lift_trends import LiftTrendsSerializer
from logs.api.serializers.lifts import LIFT_FORMULAS, LiftsSerializer
from logs.api.shown_lifts import LIFT_CAUTIONS, LIFT_METHODS, LIFT_SOURCES, show_lift, show_lift_trends, show_lifts
from logs.selectors.lift_trends import list_lift_trends
from logs.selectors.lifts import get_lift, list_lifts

MOST_WEEKS: Final = 104
_WEEKS: Final = QueryParameter(
    "weeks",
    f"How many weeks, the present one among them; 1 to {MOST_WEEKS}.",
    kind="integer",
    minimum=1,
    maximum=MOST_WEEKS,
    default=26,
)
_FORMULA: Final = QueryParameter(
    "formula",
    "By which every maximum is estimated; one for all figures of the answer.",
    choices=LIFT_FORMULAS,
    default="epley",
)


class ClientLiftsView(OperationView):
    """A client's lift lines."""

    operations = {"GET": "lifts.list"}
    query_parameters = {"GET": (_WEEKS, _FORMULA)}

    @extend_schema(responses=LiftsSerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return each line's latest value, its trend, and the latest session against earlier ones in words."""
        found = list_lifts(
            actor=self.principal,
            client_id=client_id,
            weeks=self.query["weeks"],
            formula=self.query["formula"],
            now=timezone.now(),
        )
        return Response(show_lifts(found))


class ClientLiftView(OperationView):
    """One lift of a client."""

    operations = {"GET": "lifts.read"}
    query_parameters = {"GET": (_WEEKS, _FORMULA)}

    @extend_schema(responses=LiftSerializer)
    def get(self, _request: Request, client_id: UUID, exercise: str) -> Response:
        """Return a lift, named by id or key: weekly values, estimates, trend, records, and left against right.

        Records are of the client's whole history; all else is of the weeks asked for.
        """
        found = get_lift(
            actor=self.principal,
            client_id=client_id,
            exercise=exercise,
            weeks=self.query["weeks"],
            formula=self.query["formula"],
            now=timezone.now(),
        )
        return Response(show_lift(found))


class LiftTrendsView(OperationView):
    """Who progresses and who stalls."""

    operations = {"GET": "lift_trends.list"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("coach", "Only this coach's clients: an id, or `me`.", maximum=36),
            QueryParameter("verdict", "Only lines that show one of these.", choices=VERDICTS, many=True),
            _WEEKS,
        )
    }

    @extend_schema(responses=LiftTrendsSerializer)
    def get(self, _request: Request) -> Response:
        """List the lift lines of all coached clients, by client's name and line, with trend and latest session.

        Values are Epley's; a line without any in these weeks is in its client's own list alone. `counts` counts all
        lines by verdict, whatever verdicts are asked for.
        """
        found = list_lift_trends(
            actor=self.principal,
            coach=self.query["coach"],
            verdicts=self.query["verdict"],
            weeks=self.query["weeks"],
            now=timezone.now(),
        )
        return self.computed_page(
            found.rows,
            order=("sort_name", "place"),
            show=partial(show_lift_trends, found),
            counts=found.counts,
            methods=LIFT_METHODS,
            sources=LIFT_SOURCES,
            cautions=LIFT_CAUTIONS,
        )
