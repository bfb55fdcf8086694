"""`/prescriptions/parse`."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.views import OperationView
from programs.api.serializers.parsing import ParsedTextSerializer, WrittenSessionSerializer, show_parsed_text
from programs.selectors.written_sessions import read_written_progression, read_written_session


class ParseView(OperationView):
    """Sessions in writing that are not stored."""

    operations = {"POST": "prescriptions.parse"}

    @extend_schema(request=WrittenSessionSerializer, responses=ParsedTextSerializer)
    def post(self, _request: Request) -> Response:
        """Read a written session, a progression or both; every fault at its line and column, with what was expected."""
        body = self.body(WrittenSessionSerializer)
        session = read_written_session(body["text"]) if "text" in body else None
        progression = read_written_progression(body["progression"]) if "progression" in body else None
        return Response(show_parsed_text(session, progression))
