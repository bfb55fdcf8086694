"""What holds clients back at present."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from typing import Any, Final, cast
from uuid import UUID

import orjson
from django.db.models import OuterRef, Subquery
from django.db.models.functions import Substr

from programs.models import Exercise, MovementHold, PlannedState
from programs.prescription.client_fit import FitWarning, hold_warnings
from programs.prescription.movement_holds import Hold, HoldAction
from programs.selectors.exercises import exercise_facts
from programs.selectors.place_warnings import exercises_prescribed

_EXERCISE: Final = "exercise:"

HELD_STATES: Final = (PlannedState.PLANNED, PlannedState.STARTED, PlannedState.PAUSED)
"""Sessions that a hold still bears upon; what is done or missed is not to be left out any more."""


def standing_holds(*, client_ids: Collection[UUID]) -> dict[UUID, tuple[Hold, ...]]:
    """Return the holds that stand for clients, the oldest first, in one query; those without any are left out.

    A hold of an exercise that was merged since is one of the exercise that it was merged into.
    """
    merged = Exercise.objects.filter(key=Substr(OuterRef("scope"), len(_EXERCISE) + 1), merged_into__isnull=False)
    rows = (
        MovementHold.objects.filter(client_id__in=list(client_ids), released_at__isnull=True)
        .order_by("client_id", "from_date", "scope", "id")
        .values_list("client_id", "scope", "action", "from_date", Subquery(merged.values("merged_into__key")[:1]))
    )
    found: defaultdict[UUID, list[Hold]] = defaultdict(list)
    for client_id, named, action, from_date, stays in rows:
        scope = f"{_EXERCISE}{stays}" if stays and named.startswith(_EXERCISE) else named
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
