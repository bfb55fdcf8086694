"""`/overview`."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from logs.api.serializers.overview import CAUTIONS, OverviewSerializer, show_overview, show_summary
from logs.selectors.overview import list_overview


class OverviewView(OperationView):
    """The coach's morning page."""

    operations = {"GET": "overview.read"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": (QueryParameter("coach", "Only this coach's clients.", kind="uuid"),)}

    @extend_schema(responses=OverviewSerializer)
    def get(self, _request: Request) -> Response:
        """Return where each client stands today, most urgent first, then by name.

        The order: stop, contact, missed, watch, runs out, unknown, and the rest. It is made anew for each request, so
        a client whose day changes between two pages may stand on both or on neither; the summary counts them all.
        """
        rows = list_overview(actor=self.principal, coach_id=self.query["coach"], now=timezone.now())
        return self.computed_page(
            rows,
            order=("rank", "sort_name", "client_id"),
            show=show_overview,
            summary=show_summary(rows),
            cautions=CAUTIONS,
        )
