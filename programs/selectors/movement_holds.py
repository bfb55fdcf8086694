"""What holds clients back at present."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from typing import Any, Final, cast
from uuid import UUID

import orjson

from programs.models import MovementHold, PlannedState
from programs.prescription.client_fit import FitWarning, hold_warnings
from programs.prescription.movement_holds import Hold, HoldAction
from programs.selectors.exercises import exercise_facts
from programs.selectors.place_warnings import exercises_prescribed

HELD_STATES: Final = (PlannedState.PLANNED, PlannedState.STARTED, PlannedState.PAUSED)
"""Sessions that a hold still bears upon; what is done or missed is not to be left out any more."""


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


def list_hold_warnings(rows: Sequence[Mapping[str, Any]]) -> dict[UUID, tuple[FitWarning, ...]]:
    """Return, by session, what the holds of its client say to it; in two queries, the second only if any stand.

    Args:
        rows: sessions as `programs.selectors.planned_sessions.shown` returns them.
    """
    to_come = [row for row in rows if row["state"] in HELD_STATES]
    holds = standing_holds(client_ids={row["client_id"] for row in to_come}) if to_come else {}
    named = {
        row["id"]: list(dict.fromkeys(exercises_prescribed(orjson.loads(row["prescribed_json"]))))
        for row in to_come
        if row["client_id"] in holds
    }
    if not named:
        return {}
    facts = exercise_facts({key for keys in named.values() for key in keys})
    return {
        row["id"]: hold_warnings([facts[key] for key in named[row["id"]] if key in facts], holds[row["client_id"]])
        for row in to_come
        if row["id"] in named
    }
