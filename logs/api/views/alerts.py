"""`/alerts`."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from logs.api.serializers.alerts import AlertSerializer, show_alerts
from logs.models.alerts import AlertState
from logs.selectors.alerts import list_alerts


class AlertsView(OperationView):
    """Missed-session alerts, and how far their delivery has come."""

    operations = {"GET": "alerts.list"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("client", "Only this client's.", kind="uuid"),
            QueryParameter("state", "In one of these states.", choices=tuple(AlertState.values), many=True),
        )
    }

    @extend_schema(responses=page_of(AlertSerializer))
    def get(self, _request: Request) -> Response:
        """List missed-session alerts, newest first, each with its digest and the state of its delivery."""
        rows = list_alerts(actor=self.principal, client_id=self.query["client"], states=self.query["state"] or ())
        return self.page(rows, order=("-created_at", "-id"), show=show_alerts)
