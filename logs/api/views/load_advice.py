"""`/clients/{id}/next-session` and `/load-advice`."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from logs.actions.load_advice import accept_load_advice
from logs.api.serializers.load_advice import (
    ADVICE_ACTIONS,
)
from logs.api.serializers.load_advice_acceptances import (
    AcceptanceResultsSerializer,
    AcceptancesSerializer,
    acceptances,
    show_results,
)
from logs.api.serializers.next_sessions import (
    AdvisedNextSessionSerializer,
    NextSessionSerializer,
    show_next_session,
    show_next_sessions,
)
from logs.selectors.load_advice_lists import get_next_session, list_load_advice, list_next_sessions


class NextSessionView(OperationView):
    """What comes next for a client."""

    operations = {"GET": "next_session.read"}

    @extend_schema(responses=NextSessionSerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return the next open session with a load advised for each slot, and the reason for each."""
        found = get_next_session(actor=self.principal, client_id=client_id, now=timezone.now())
        return Response(show_next_session(client_id, found))


class LoadAdviceView(OperationView):
    """Advice for the next sessions of many clients."""

    operations = {"GET": "load_advice.list"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("coach", "Only this coach's clients: an id, or `me`.", maximum=36),
            QueryParameter("client", "Only this client's.", kind="uuid"),
            QueryParameter("action", "Only these.", choices=tuple(ADVICE_ACTIONS), many=True),
        )
    }

    @extend_schema(responses=page_of(AdvisedNextSessionSerializer))
    def get(self, _request: Request) -> Response:
        """List clients' next sessions by date, with the slots whose advice says one of the actions asked for.

        A page looks at `limit` sessions; one without such a slot is left out of it, so follow `next` to the end.
        """
        rows = list_next_sessions(actor=self.principal, coach=self.query["coach"], client_id=self.query["client"])
        return self.page(rows, order=("local_date", "id"), show=self._show)

    def _show(self, rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
        found = list_load_advice(actor=self.principal, sessions=rows, now=timezone.now())
        return show_next_sessions(found, self.query["action"] or ())


class LoadAdviceAcceptanceView(OperationView):
    """Accepting advice."""

    operations = {"POST": "load_advice.accept"}

    @extend_schema(request=AcceptancesSerializer, responses=AcceptanceResultsSerializer)
    def post(self, _request: Request) -> Response:
        """Write advised loads, or the coach's own, into planned sessions, with one result per item.

        The loads are one-off changes of the sessions: they hold when the client moves to another version, as long as
        the slot has the exercise and asks for the same.
        """
        body = self.body(AcceptancesSerializer)
        results = accept_load_advice(actor=self.principal, items=acceptances(body), now=timezone.now())
        return Response(show_results(results))
