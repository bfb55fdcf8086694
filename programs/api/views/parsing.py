"""`/prescriptions/parse`."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.views import OperationView
from programs.api.serializers.parsing import ParsedSessionSerializer, WrittenSessionSerializer, show_parsed_session
from programs.selectors.written_sessions import read_written_session


class ParseView(OperationView):
    """Sessions in writing that are not stored."""

    operations = {"POST": "prescriptions.parse"}

    @extend_schema(request=WrittenSessionSerializer, responses=ParsedSessionSerializer)
    def post(self, _request: Request) -> Response:
        """Read a written session; every fault comes back at its line and column, with what was expected."""
        body = self.body(WrittenSessionSerializer)
        return Response(show_parsed_session(read_written_session(body["text"])))
