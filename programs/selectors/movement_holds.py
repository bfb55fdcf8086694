"""What holds clients back at present."""

from collections import defaultdict
from collections.abc import Collection
from typing import cast
from uuid import UUID

from programs.models import MovementHold
from programs.prescription.movement_holds import Hold, HoldAction


def standing_holds(*, client_ids: Collection[UUID]) -> dict[UUID, tuple[Hold, ...]]:
    """Return the holds that stand for clients, the oldest first, in one query; those without any are left out."""
    rows = (
        MovementHold.objects.filter(client_id__in=list(client_ids), released_at__isnull=True)
        .order_by("client_id", "from_date", "scope", "id")
        .values_list("client_id", "scope", "action", "from_date")
    )
    found: defaultdict[UUID, list[Hold]] = defaultdict(list)
    for client_id, scope, action, from_date in rows:
        found[client_id].append(Hold(scope=scope, action=cast("HoldAction", action), from_date=from_date))
    return {client_id: tuple(dict.fromkeys(holds)) for client_id, holds in found.items()}
