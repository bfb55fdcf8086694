"""Which planned sessions have loads that hang on what is lifted before them."""

from collections.abc import Collection
from typing import Any
from uuid import UUID

from django.db.models import BooleanField, Func

from programs.models import PlannedSession


class _HasBackOffs(Func):
    template = (
        "jsonb_path_exists(%(expressions)s, "
        '\'$.blocks[*].slots[*].sets[*].load ? (@.kind == "relative_to_top" || @.kind == "same_as")\'::jsonpath)'
    )
    output_field: Any = BooleanField()


def sessions_with_back_offs(*, planned_session_ids: Collection[UUID]) -> list[UUID]:
    """Return those of the sessions in which a load is a percentage of the day's top set, or another slot's."""
    rows = PlannedSession.objects.filter(_HasBackOffs("prescribed"), id__in=list(planned_session_ids))
    return list(rows.order_by("id").values_list("id", flat=True))
