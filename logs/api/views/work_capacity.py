"""`/clients/{id}/work-capacity`, `/conditioning` and `/blocks/compare`."""

from typing import Any, Final
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from logs.api.serializers.blocks import BlocksSerializer, show_blocks
from logs.api.serializers.conditioning import ConditioningHistorySerializer, show_conditioning
from logs.api.serializers.work_capacity import WorkCapacitySerializer, show_work_capacity
from logs.selectors.blocks import BlockChoice, compare_blocks
from logs.selectors.conditioning import get_conditioning
from logs.selectors.work_capacity import get_work_capacity

MOST_WEEKS: Final = 52
_WEEKS: Final = QueryParameter(
    "weeks",
    f"How many weeks, the present one among them; 1 to {MOST_WEEKS}.",
    kind="integer",
    minimum=1,
    maximum=MOST_WEEKS,
    default=12,
)


def _block_parameters(prefix: str, which: str) -> tuple[QueryParameter, ...]:
    return (
        QueryParameter(f"{prefix}from", f"First day of {which}; its whole week counts.", kind="date"),
        QueryParameter(f"{prefix}to", f"Last day of {which}; its whole week counts.", kind="date"),
        QueryParameter(f"{prefix}assignment", f"Or: the weeks of this assignment as {which}.", kind="uuid"),
        QueryParameter(f"{prefix}version", f"Or: the weeks of this program version as {which}.", kind="uuid"),
    )


class WorkCapacityView(OperationView):
    """A client's repeated sessions."""

    operations = {"GET": "work_capacity.read"}
    query_parameters = {"GET": (_WEEKS,)}

    @extend_schema(responses=WorkCapacitySerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return each template's sessions with work, minutes and density, and the latest at equal work."""
        found = get_work_capacity(
            actor=self.principal, client_id=client_id, weeks=self.query["weeks"], now=timezone.now()
        )
        return Response(show_work_capacity(found))


class ConditioningView(OperationView):
    """A client's conditioning results."""

    operations = {"GET": "conditioning.read"}
    query_parameters = {"GET": (_WEEKS,)}

    @extend_schema(responses=ConditioningHistorySerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return rounds, times, splits and power of conditioning over time, by block and by exercise."""
        found = get_conditioning(
            actor=self.principal, client_id=client_id, weeks=self.query["weeks"], now=timezone.now()
        )
        return Response(show_conditioning(found))


class BlocksView(OperationView):
    """Two training blocks of a client."""

    operations = {"GET": "training_blocks.compare"}
    query_parameters = {"GET": (*_block_parameters("", "the block"), *_block_parameters("with_", "the other block"))}

    @extend_schema(responses=BlocksSerializer)
    def get(self, _request: Request, client_id: UUID) -> Response:
        """Return two training blocks side by side, from the weekly rows; a description, not a cause.

        A block that is not chosen is the last four weeks that are over; the one it is held against, as many before it.
        """
        found = compare_blocks(
            actor=self.principal,
            client_id=client_id,
            block=_choice(self.query, ""),
            with_block=_choice(self.query, "with_"),
            now=timezone.now(),
        )
        return Response(show_blocks(found))


def _choice(query: dict[str, Any], prefix: str) -> BlockChoice:
    return BlockChoice(
        prefix=prefix,
        first=query[f"{prefix}from"],
        last=query[f"{prefix}to"],
        assignment_id=query[f"{prefix}assignment"],
        version_id=query[f"{prefix}version"],
    )
