"""`/prescriptions`."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.views import OperationView
from programs.api.serializers.prescriptions import (
    AnalyseSerializer,
    SessionAnalysisSerializer,
    show_session_analysis,
)
from programs.selectors.prescriptions import session_analysis


class AnalyseView(OperationView):
    """Analysis of a session that is not stored."""

    operations = {"POST": "prescriptions.analyse"}

    @extend_schema(request=AnalyseSerializer, responses=SessionAnalysisSerializer)
    def post(self, _request: Request) -> Response:
        """Return the timeline, effective rests, stimulus, volume and findings of a session; store nothing."""
        body = self.body(AnalyseSerializer)
        analysis, facts = session_analysis(
            actor=self.principal,
            session=body["session"],
            client_id=body.get("client"),
            minutes=body.get("minutes"),
        )
        return Response(show_session_analysis(analysis, facts, with_events=True))
