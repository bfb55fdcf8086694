"""`/audit-entries`."""

from datetime import UTC, date, datetime, time
from typing import Final

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.api.serializers.audit_entries import AuditEntrySerializer
from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.models.audit import ActorKind
from coaching.selectors.audit_entries import list_audit_entries

_FILTERS: Final = (
    QueryParameter("operation", "Of this operation, such as `clients.update`."),
    QueryParameter("actor", "By this coach, client membership or API key.", kind="uuid"),
    QueryParameter("object", "On the object with this id."),
    QueryParameter("actor_kind", "By this kind of caller.", choices=tuple(ActorKind.values)),
    QueryParameter("address", "From this network address, whole."),
    QueryParameter("from", "From this day on, in UTC.", kind="date"),
    QueryParameter("to", "To the end of this day, in UTC.", kind="date"),
)


class AuditEntriesView(OperationView):
    """The trail of who did what."""

    operations = {"GET": "audit_entries.list"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": _FILTERS}

    @extend_schema(responses=page_of(AuditEntrySerializer))
    def get(self, _request: Request) -> Response:
        """List what was done, when, by whom and from where, newest first."""
        rows = list_audit_entries(
            operation=self.query["operation"],
            actor_id=self.query["actor"],
            object_id=self.query["object"],
            actor_kind=self.query["actor_kind"],
            address=self.query["address"],
            since=_instant(self.query["from"], time.min),
            until=_instant(self.query["to"], time.max),
        )
        return self.page(rows, order=("-at", "-id"), show=list)


def _instant(day: date | None, at: time) -> datetime | None:
    return None if day is None else datetime.combine(day, at, UTC)
