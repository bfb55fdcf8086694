"""`/prescriptions/pairings`."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.views import OperationView
from programs.api.serializers.pairings import PairingsAnswerSerializer, PairingsSerializer, show_pairings
from programs.selectors.pairings import pairing_suggestions


class PairingsView(OperationView):
    """Pairings of exercises that are not stored."""

    operations = {"POST": "prescriptions.pairings"}

    @extend_schema(request=PairingsSerializer, responses=PairingsAnswerSerializer)
    def post(self, _request: Request) -> Response:
        """Return the pairings of a list of exercises, quickest first, with the time each costs; store nothing."""
        body = self.body(PairingsSerializer)
        pairings, facts = pairing_suggestions(
            actor=self.principal,
            exercises=body["exercises"],
            client_id=body.get("client"),
            minutes=body.get("minutes"),
            place=body["place"],
            novice=body["novice"],
        )
        return Response(show_pairings(pairings, facts))
