"""Write planned sessions out anew: from their version, with the client's substitutes, changes, place and references.

Whatever changes one of these sets it on the rows and calls this; the statements are as many for any number of rows.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, Final, cast
from uuid import UUID

import orjson
from django.db import connection

from coaching.actions.stale_weeks import mark_stale
from coaching.models import Place
from coaching.tenancy.scope import current_business_id
from programs.actions.session_ground import FollowedSession, SessionGround, read_session_ground
from programs.actions.snapshot_rows import SNAPSHOT_COLUMNS, snapshot_row
from programs.models import PlannedSession
from programs.prescription.changed_snapshots import changed_snapshot
from programs.prescription.snapshot import MissingReference, SessionFrame, session_frame
from programs.prescription.structure import Session
from programs.prescription.vocabulary import LoadUnit
from programs.selectors.business_calendar import get_business_calendar
from programs.selectors.place_steps import steps_in_unit
from programs.selectors.timelines import stations_at

# Row-level security refuses a COPY into the table itself; as array parameters large documents are far slower.
_DOCUMENTS: Final = (
    "CREATE TEMPORARY TABLE session_documents (document int, title text, template_key text, "
    f"{SNAPSHOT_COLUMNS}, slot_classes jsonb, work_sets smallint, low_min numeric, high_min numeric) ON COMMIT DROP"
)
_WRITTEN: Final = {
    "version_id": "v.version_id",
    "title": "d.title",
    "template_key": "d.template_key",
    "deload": "v.deload",
    "place_id": "v.place_id",
    "changes": "v.changes",
    "prescribed": "d.prescribed",
    "set_slots": "d.set_slots",
    "set_figures": "d.set_figures",
    "set_loads_kg": "d.set_loads_kg",
    "planned_reps": "d.planned_reps",
    "slot_classes": "d.slot_classes",
    "planned_work_sets": "d.work_sets",
    "planned_low_min": "d.low_min",
    "planned_high_min": "d.high_min",
}
# Who changed it and when go with `changes`: alone they are no reason to write a row.
_UPDATE: Final = f"""
UPDATE programs_plannedsession p SET ({", ".join(_WRITTEN)}, changed_at, changed_by_id, row_version)
  = ({", ".join(_WRITTEN.values())}, v.changed_at, v.changed_by_id, p.row_version + 1)
FROM unnest(%s::uuid[], %s::int[], %s::uuid[], %s::bool[], %s::uuid[], %s::jsonb[], %s::timestamptz[], %s::uuid[])
  AS v (id, document, version_id, deload, place_id, changes, changed_at, changed_by_id)
JOIN session_documents d ON d.document = v.document
WHERE p.business_id = %s AND p.id = v.id
  AND ({", ".join(f"p.{name}" for name in _WRITTEN)}) IS DISTINCT FROM ({", ".join(_WRITTEN.values())})
RETURNING p.id
"""


@dataclass(frozen=True, slots=True)
class RewrittenSessions:
    """What became of the rows.

    Attributes:
        changed: the sessions that are otherwise now.
        missing: the reference loads that each session lacks.
        without_place: by session, the slots whose changes have no place in it, each with a sentence.
        left_alone: sessions whose version has no such day, or names exercises that the catalogue no longer has.
    """

    changed: frozenset[UUID] = frozenset()
    missing: Mapping[UUID, tuple[MissingReference, ...]] = field(default_factory=dict)
    without_place: Mapping[UUID, Mapping[str, str]] = field(default_factory=dict)
    left_alone: frozenset[UUID] = frozenset()


def rewrite_sessions(rows: Sequence[PlannedSession], *, now: datetime) -> RewrittenSessions:
    """Write sessions out anew, in a constant number of statements, and mark the weeks of those that change stale.

    Args:
        rows: sessions with their `assignment` and `client`, locked; what `version_id`, `place_id`, `changes`,
            `changed_at` and `changed_by_id` say in memory is written, with all that follows from it.
        now: references until then hold.
    """
    if not rows:
        return RewrittenSessions()
    ground = read_session_ground(rows, until=now.date() + timedelta(days=1))
    documents = _Documents(ground)
    written: list[tuple[Any, ...]] = []
    missing: dict[UUID, tuple[MissingReference, ...]] = {}
    without_place: dict[UUID, Mapping[str, str]] = {}
    for row in rows:
        own = ground.followed(row)
        if own is None:
            continue
        number, missing[row.id] = documents.number(row, own)
        if own.changed.without_place:
            without_place[row.id] = own.changed.without_place
        written.append(_row(row, number, deload=own.deload))
    changed = _write(documents.rows, written)
    calendar = get_business_calendar()
    mark_stale(weeks={(row.client_id, calendar.week_of(row.local_date)) for row in rows if row.id in changed}, now=now)
    left_alone = {row.id for row in rows} - {row[0] for row in written}
    return RewrittenSessions(changed, missing, without_place, frozenset(left_alone))


@dataclass(slots=True)
class _Documents:
    """Documents written out, each distinct one once: many clients share theirs."""

    ground: SessionGround
    rows: list[tuple[Any, ...]] = field(default_factory=list)
    _frames: dict[Any, SessionFrame] = field(default_factory=dict)
    _known: dict[Any, tuple[int, tuple[MissingReference, ...]]] = field(default_factory=dict)

    def number(self, row: PlannedSession, own: FollowedSession) -> tuple[int, tuple[MissingReference, ...]]:
        """Return the number of a row's document, counted from 1, and the reference loads that it lacks."""
        unit = cast("LoadUnit", row.client.unit)
        place = None if row.place_id is None else self.ground.places.get(row.place_id)
        known = self.ground.references.get(row.client_id, {})
        references = {exercise: known.get(exercise, {}) for exercise in own.needed}
        same = (
            own.key,
            unit,
            None if place is None else place.id,
            tuple((exercise, tuple(sorted(loads.items()))) for exercise, loads in references.items()),
        )
        if same not in self._known:
            steps = None if place is None else place_steps(place, unit)
            snapshot = changed_snapshot(own.changed, self.ground.facts, references, unit=unit, steps=steps)
            frame = self._frame(own, place)
            self.rows.append(_document(len(self.rows) + 1, own.changed.session, snapshot.prescribed, frame))
            self._known[same] = (len(self.rows), snapshot.missing)
        return self._known[same]

    def _frame(self, own: FollowedSession, place: Place | None) -> SessionFrame:
        stations = stations_at(None if place is None else place.kind)
        if (own.key, stations) not in self._frames:
            policy = self.ground.timelines.at(stations)
            self._frames[own.key, stations] = session_frame(own.changed.session, self.ground.facts, policy)
        return self._frames[own.key, stations]


def place_steps(place: Place, unit: LoadUnit) -> dict[str, Decimal]:
    """Return the steps of loads at a place in a unit, by how an exercise is loaded."""
    return steps_in_unit(place.load_steps, unit)


def _document(number: int, session: Session, prescribed: Mapping[str, Any], frame: SessionFrame) -> tuple[Any, ...]:
    return (
        number,
        session.title,
        session.template_key,
        *snapshot_row(prescribed),
        orjson.dumps(dict(frame.slot_classes)).decode(),
        frame.work_sets,
        frame.low_min,
        frame.high_min,
    )


def _row(row: PlannedSession, number: int, *, deload: bool) -> tuple[Any, ...]:
    changes = None if row.changes is None else orjson.dumps(row.changes).decode()
    return (row.id, number, row.version_id, deload, row.place_id, changes, row.changed_at, row.changed_by_id)


def _write(documents: Sequence[tuple[Any, ...]], rows: Sequence[tuple[Any, ...]]) -> frozenset[UUID]:
    if not rows:
        return frozenset()
    with connection.cursor() as cursor:
        cursor.execute(_DOCUMENTS)
        # Django leaves the errors of a copy as the driver raises them.
        with connection.wrap_database_errors, cursor.copy("COPY session_documents FROM STDIN") as copy:
            for document in documents:
                copy.write_row(document)
        cursor.execute(_UPDATE, [*map(list, zip(*rows, strict=True)), current_business_id()])
        changed = frozenset(found for (found,) in cursor.fetchall())
        cursor.execute("DROP TABLE session_documents")
    return changed
