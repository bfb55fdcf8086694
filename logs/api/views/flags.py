"""`/flags`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from logs.actions.flags import acknowledge_flag, resolve_flag
from logs.api.serializers.flags import (
    KINDS,
    SEVERITIES,
    AcknowledgementSerializer,
    FlagSerializer,
    ResolutionSerializer,
    show_flag,
    show_flags,
)
from logs.models.flags import FlagState
from logs.selectors.flags import get_flag, list_flags


class FlagsView(OperationView):
    """What needs a coach's eye, across clients."""

    operations = {"GET": "flags.list"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("client", "Only this client's.", kind="uuid"),
            QueryParameter("kind", "Of one of these kinds.", choices=tuple(KINDS), many=True),
            QueryParameter("state", "In one of these states.", choices=tuple(FlagState.values), many=True),
            QueryParameter("severity", "Of one of these severities.", choices=tuple(SEVERITIES), many=True),
        )
    }

    @extend_schema(responses=page_of(FlagSerializer))
    def get(self, _request: Request) -> Response:
        """List flags, newest first."""
        rows = list_flags(
            actor=self.principal,
            client_id=self.query["client"],
            kinds=self.query["kind"] or (),
            states=self.query["state"] or (),
            severities=self.query["severity"] or (),
        )
        return self.page(rows, order=("-opened_at", "-id"), show=show_flags)


class FlagView(OperationView):
    """A flag."""

    operations = {"GET": "flags.read"}

    @extend_schema(responses=FlagSerializer)
    def get(self, _request: Request, flag_id: UUID) -> Response:
        """Return a flag."""
        flag = get_flag(actor=self.principal, flag_id=flag_id)
        return self.single(show_flag(flag), flag.row_version)


class FlagAcknowledgementView(OperationView):
    """Having seen a flag."""

    operations = {"POST": "flags.acknowledge"}

    @extend_schema(request=AcknowledgementSerializer, responses=FlagSerializer)
    def post(self, _request: Request, flag_id: UUID) -> Response:
        """Note that you have seen a flag; it stays until its ground is gone or somebody resolves it."""
        self.body(AcknowledgementSerializer)
        flag = acknowledge_flag(actor=self.principal, flag_id=flag_id, now=timezone.now())
        return self.single(show_flag(flag), flag.row_version)


class FlagResolutionView(OperationView):
    """Settling a flag."""

    operations = {"POST": "flags.resolve"}

    @extend_schema(request=ResolutionSerializer, responses=FlagSerializer)
    def post(self, _request: Request, flag_id: UUID) -> Response:
        """Settle a flag: it stays closed until there is evidence that it did not rest on."""
        body = self.body(ResolutionSerializer)
        flag = resolve_flag(actor=self.principal, flag_id=flag_id, now=timezone.now(), **body)
        return self.single(show_flag(flag), flag.row_version)
