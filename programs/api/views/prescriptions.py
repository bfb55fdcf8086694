"""`/prescriptions`."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.views import OperationView
from programs.api.serializers.prescriptions import (
    AnalysedSessionSerializer,
    AnalyseSerializer,
    circumstances_of,
    show_analysed_session,
)
from programs.selectors.analyses import session_analysis, written_analysis


class AnalyseView(OperationView):
    """Analysis of a session that is not stored."""

    operations = {"POST": "prescriptions.analyse"}

    @extend_schema(request=AnalyseSerializer, responses=AnalysedSessionSerializer)
    def post(self, _request: Request) -> Response:
        """Return the timeline, effective rests, stimulus, volume and findings of a session; store nothing.

        Faults of a `text` are answered as a problem, each with its line and column; beside them stand `written`, what
        could be read, and `analysis`, the analysis of that.
        """
        body = self.body(AnalyseSerializer)
        actor, circumstances, now = self.principal, circumstances_of(body), timezone.now()
        if "text" in body:
            found = written_analysis(actor=actor, text=body["text"], circumstances=circumstances, now=now)
        else:
            found = session_analysis(actor=actor, session=body["session"], circumstances=circumstances, now=now)
        return Response(show_analysed_session(found))
