"""What was planned for sessions that were done: the targets by which their sets are judged."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any, Final
from uuid import UUID

import orjson
from django.db.models import TextField
from django.db.models.functions import Cast

from logs.analysis.load_advice_facts import SlotTarget
from logs.analysis.load_advice_targets import slot_target
from programs.models import PlannedSession
from programs.prescription.vocabulary import LoadUnit


@dataclass(frozen=True, slots=True)
class SessionPlan:
    """What was planned for a session that was done."""

    place_id: UUID | None
    deload: bool
    slots: Mapping[str, Mapping[str, Any]]
    slot_classes: Mapping[str, list[str]]
    # Many clients share what was planned for them.
    targets: dict[tuple[str, LoadUnit], SlotTarget | None] = field(default_factory=dict)

    def target(self, slot_key: str, exercise: str, unit: LoadUnit) -> SlotTarget | None:
        """Read the slot named, or where none was named the only one of the exercise."""
        slot = self.slots.get(slot_key)
        if slot is None and not slot_key:
            own = [one for one in self.slots.values() if one["exercise"] == exercise]
            slot = own[0] if len(own) == 1 else None
        if slot is None:
            return None
        known = (slot["slot_key"], unit)
        if known not in self.targets:
            self.targets[known] = slot_target(slot, unit)
        return self.targets[known]

    def tempo_class(self, slot_key: str, set_number: int) -> str:
        """Give the class that a set was planned at; empty where none is."""
        planned = self.slot_classes.get(slot_key) or []
        return planned[set_number - 1] if 0 < set_number <= len(planned) else ""


NO_PLAN: Final = SessionPlan(place_id=None, deload=False, slots={}, slot_classes={})


def list_session_plans(session_ids: Collection[UUID]) -> dict[UUID, SessionPlan]:
    """Return what was planned for sessions, in one statement; equal plans are read once."""
    if not session_ids:
        return {}
    rows = PlannedSession.objects.filter(id__in=list(session_ids)).values_list(
        "id", "place_id", "deload", Cast("prescribed", TextField()), Cast("slot_classes", TextField())
    )
    made: dict[tuple[Any, ...], SessionPlan] = {}
    found: dict[UUID, SessionPlan] = {}
    for session_id, place_id, deload, prescribed, classes in rows:
        same = (place_id, deload, prescribed, classes)
        if same not in made:
            made[same] = SessionPlan(place_id, deload, _slots(orjson.loads(prescribed)), orjson.loads(classes))
        found[session_id] = made[same]
    return found


def _slots(prescribed: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    return {slot["slot_key"]: slot for block in prescribed.get("blocks", ()) for slot in block["slots"]}
