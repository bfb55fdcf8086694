"""Resolve loads that hang on earlier sets of the day. `logs` calls this; `programs` never asks `logs`."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, cast
from uuid import UUID

import orjson
from django.db import connection

from coaching.tenancy.scope import current_business_id
from programs.actions.session_rewrites import place_steps
from programs.models import PlannedSession
from programs.prescription.back_offs import LiftedSet, with_back_offs
from programs.prescription.planned_sets import planned_sets
from programs.prescription.prescribed_loads import AbsoluteLoad
from programs.prescription.vocabulary import LoadUnit
from programs.selectors.exercises import exercise_facts
from programs.selectors.place_warnings import exercises_prescribed

_UPDATE: Final = """
UPDATE programs_plannedsession p
SET prescribed = v.prescribed, set_loads_kg = v.set_loads_kg::numeric[], row_version = p.row_version + 1
FROM unnest(%s::uuid[], %s::jsonb[], %s::text[]) AS v (id, prescribed, set_loads_kg)
WHERE p.business_id = %s AND p.id = v.id
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedLoad:
    """A set of a planned session that was done with a load, in the exercise's own basis and as it was entered."""

    planned_session_id: UUID
    slot_key: str
    exercise: str
    set_number: int
    kind: str
    load: Decimal
    unit: str


def resolve_back_offs(*, planned_session_ids: Collection[UUID], logged: Sequence[LoggedLoad]) -> set[UUID]:
    """Write the loads that hang on a top set or another slot, in a constant number of statements for any sessions.

    Args:
        planned_session_ids: sessions whose sets changed; without such a set any more, a load is as it was planned.
        logged: all sets of theirs that were done with a load, whatever their kind.

    Returns:
        The sessions that read otherwise now.
    """
    if not planned_session_ids:
        return set()
    rows = list(
        PlannedSession.objects.filter(id__in=list(planned_session_ids))
        .select_related("client", "place")
        .order_by("id")
        .select_for_update(of=("self",), no_key=True)
    )
    facts = exercise_facts({key for row in rows for key in exercises_prescribed(row.prescribed)})
    lifted: defaultdict[UUID, list[LiftedSet]] = defaultdict(list)
    for one in logged:
        lifted[one.planned_session_id].append(_lifted(one))
    changed = {}
    for row in rows:
        unit = cast("LoadUnit", row.client.unit)
        steps = None if row.place is None else place_steps(row.place, unit)
        document = with_back_offs(row.prescribed, lifted[row.id], facts, unit=unit, steps=steps)
        if document != row.prescribed:
            loads_kg = planned_sets(document).loads_kg
            changed[row.id] = (orjson.dumps(document).decode(), _array_text(loads_kg))
    if changed:
        with connection.cursor() as cursor:
            cursor.execute(
                _UPDATE, [list(changed), *map(list, zip(*changed.values(), strict=True)), current_business_id()]
            )
    return set(changed)


def _array_text(loads_kg: Iterable[Decimal | None]) -> str:
    """Write an array in an array, which the driver would take for a table."""
    return f"{{{','.join('NULL' if load is None else format(load, 'f') for load in loads_kg)}}}"


def _lifted(logged: LoggedLoad) -> LiftedSet:
    return LiftedSet(
        slot_key=logged.slot_key,
        exercise=logged.exercise,
        set_number=logged.set_number,
        kind=logged.kind,
        load=AbsoluteLoad(value=logged.load.normalize(), unit=cast("LoadUnit", logged.unit)),
    )
