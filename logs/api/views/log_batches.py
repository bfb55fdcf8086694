"""`/log-batches` and `/held-items`."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.exact_json import encode
from coaching.http.query_parameters import QueryParameter
from coaching.http.rate_limits import charge
from coaching.http.rate_policy import batch_cost
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.refusals import Fault, Unprocessable
from logs.actions.batch_records import RecordedBatch, record_log_batch
from logs.actions.held_items import delete_held_item
from logs.api.batch_answers import show_kept, show_recorded
from logs.api.batch_body import read_batch
from logs.api.items import LogBatchBody
from logs.api.serializers.log_batches import (
    HeldItemSerializer,
    LogBatchDetailSerializer,
    LogBatchSerializer,
    RecordedBatchSerializer,
)
from logs.selectors.log_batches import get_log_batch, list_held_items, list_log_batches

_STRICT: Final = "handling=strict"
_PREFER: Final = OpenApiParameter(
    "Prefer", str, OpenApiParameter.HEADER, description="`handling=strict`: all or nothing."
)


class StrictBatchRefused(Unprocessable):
    """A batch that was to be taken whole or not at all holds a refused item."""

    code = "strict_batch_refused"


class LogBatchesView(OperationView):
    """Batches of logs, as apps send them."""

    operations = {"GET": "log_batches.list", "POST": "log_batches.create"}
    lists = frozenset({"GET"})

    @extend_schema(responses=page_of(LogBatchSerializer))
    def get(self, _request: Request) -> Response:
        """List the batches that the caller sent, newest first; heads see all."""
        rows = list_log_batches(actor=self.principal)
        return self.page(rows, order=("-received_at", "-id"), show=_show_batches)

    @extend_schema(request=LogBatchBody, responses={200: RecordedBatchSerializer}, parameters=[_PREFER])
    def post(self, request: Request) -> Response:
        """Take up to 5,000 logs, each on its own merits.

        An item again is `unchanged`, changed content is `corrected` and what it replaced is kept. A set whose
        session has not come is `held`. The status is 200 even where all are refused. What must be said at once
        is in `cautions`.
        """
        strict = _is_strict(request)
        with _uncollected():
            plain = request._request  # noqa: SLF001 -- the raw bytes; DRF's parser would read them once more
            body = read_batch(plain.body)
            charge(plain, batch_cost(sum(map(len, body.items.values()))))
            batch = record_log_batch(
                actor=self.principal, source=body.source, items=body.items, strict=strict, now=timezone.now()
            )
            answer = show_recorded(batch)
        if batch.id is None:
            raise _refused_whole(batch)
        self.kept_answer = (200, encode(show_kept(batch)))
        return Response(answer, headers={"Preference-Applied": _STRICT} if strict else None)


class LogBatchView(OperationView):
    """A batch of logs."""

    operations = {"GET": "log_batches.read"}
    versioned = False

    @extend_schema(responses=LogBatchDetailSerializer)
    def get(self, _request: Request, log_batch_id: UUID) -> Response:
        """Return a batch's counts and problems."""
        return Response(_show_batch(get_log_batch(actor=self.principal, log_batch_id=log_batch_id)))


class HeldItemsView(OperationView):
    """Sets that wait for their session."""

    operations = {"GET": "held_items.list"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": (QueryParameter("client", "Only this client's.", kind="uuid"),)}

    @extend_schema(responses=page_of(HeldItemSerializer))
    def get(self, _request: Request) -> Response:
        """List the sets whose session has not come, newest first."""
        rows = list_held_items(actor=self.principal, client_id=self.query["client"])
        return self.page(rows, order=("-received_at", "-id"), show=_show_held)


class HeldItemView(OperationView):
    """A set that waits for its session."""

    operations = {"DELETE": "held_items.delete"}
    versioned = False

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, held_item_id: UUID) -> Response:
        """Erase a set whose session has not come; flags on what it reported stay until somebody resolves them."""
        delete_held_item(actor=self.principal, held_item_id=held_item_id)
        return Response(status=204)


@contextmanager
def _uncollected() -> Iterator[None]:
    """Put the garbage collector off: a batch makes tens of thousands of objects, none of them a cycle.

    A collection in the middle of them walks the whole process, a tenth of the time of a large batch.
    """
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.enable()


def _is_strict(request: Request) -> bool:
    preferences = request.headers.get("Prefer", "").replace(" ", "").lower().replace('"', "")
    return _STRICT in preferences.replace(";", ",").split(",")


def _refused_whole(batch: RecordedBatch) -> StrictBatchRefused:
    faults = [
        Fault(fault["pointer"], fault["code"], fault["detail"])
        for problem in batch.problems
        for fault in problem["errors"]
    ]
    count = batch.summary["refused"]
    told = (
        f"{count} {'item was' if count == 1 else 'items were'} refused, so nothing was stored; mend what errors lists."
    )
    shown = show_recorded(batch)
    return StrictBatchRefused(
        told,
        faults=faults,
        extra={name: shown[name] for name in ("summary", "items", "cautions")},
    )


def _show_batches(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [_show_batch(row) for row in rows]


def _show_batch(row: dict[str, Any]) -> dict[str, Any]:
    shown = dict(row)
    shown["summary"] = shown.pop("counts")
    return shown


def _show_held(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [
        {
            "id": row["id"],
            "client": row["client_id"],
            "source": row["source"],
            "external_id": row["external_id"],
            "session_external_id": row["session_external_id"],
            "item": row["item"]["fields"],
            "received_at": row["received_at"],
            "expires_at": row["expires_at"],
        }
        for row in rows
    ]
