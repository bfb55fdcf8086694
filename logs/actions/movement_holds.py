"""Tell `programs` what holds clients back: recomputed from the pain and symptom flags that stand."""

from collections.abc import Collection, Iterator, Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from logs.analysis.readiness import Action
from logs.models import Flag
from logs.selectors.flags import STANDING_STATES
from programs.actions.movement_holds import WantedHold, set_holds

_HELD_BY_ACTION: Final[Mapping[Action, str]] = {
    "no_increase": "no_increase",
    # New and sharp, but not bad enough to stop the movement: the coach speaks to the client first.
    "contact": "no_increase",
    "stop_movement": "stop_movement",
    "stop_training": "stop_training",
}
_HOLDING_KINDS: Final = ("pain", "symptom")


def push_holds(*, client_ids: Collection[UUID], now: datetime) -> None:
    """Make the standing pain and symptom flags of clients their holds; what no flag bears any more is released."""
    rows = (
        Flag.objects.filter(
            client_id__in=list(client_ids),
            kind__in=_HOLDING_KINDS,
            state__in=STANDING_STATES,
            action__in=list(_HELD_BY_ACTION),
        )
        .order_by("id")
        .values("id", "client_id", "scope", "action", "opened_on", "figures")
    )
    set_holds(client_ids=client_ids, holds=[hold for row in rows for hold in _holds(row)], now=now)


def _holds(flag: Mapping[str, Any]) -> Iterator[WantedHold]:
    # The exercises at which a pain was felt are held too: of a region alone not every movement is known.
    exercises = [f"exercise:{key}" for key in flag["figures"].get("exercises", ())]
    for one in dict.fromkeys([flag["scope"], *exercises]):
        yield WantedHold(
            client_id=flag["client_id"],
            flag_id=flag["id"],
            scope=one,
            action=_HELD_BY_ACTION[flag["action"]],
            from_date=flag["opened_on"],
        )
