"""Write planned sessions out anew: from their version, with the client's substitutes, changes, place and references.

Whatever changes one of these sets it on the rows and calls this; the statements are as many for any number of rows.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final, cast
from uuid import UUID

import orjson
from django.db import connection

from coaching.actions.stale_weeks import mark_stale
from coaching.measures.load import kg_to_lb, lb_to_kg
from coaching.models import Place, PlaceKind
from coaching.tenancy.scope import current_business_id
from programs.models import PlannedSession, Version
from programs.prescription.calendar import DayKey
from programs.prescription.document import decode_version
from programs.prescription.session_changes import (
    ChangedSession,
    SessionChanges,
    changed_session,
    changed_snapshot,
    read_changes,
)
from programs.prescription.snapshot import MissingReference, SessionFrame, reference_exercises, session_frame
from programs.prescription.structure import ExerciseFacts, Session, VersionContent, session_exercises
from programs.prescription.substituted_sessions import substituted_session
from programs.prescription.timeline import TimelinePolicy
from programs.prescription.vocabulary import LoadUnit
from programs.selectors.business_calendar import get_business_calendar
from programs.selectors.exercises import exercise_facts
from programs.selectors.prescriptions import named_by_key
from programs.selectors.reference_loads import latest_reference_loads

# Row-level security refuses a COPY into the table itself; as array parameters large documents are far slower.
_DOCUMENTS: Final = (
    "CREATE TEMPORARY TABLE session_documents (document int, title text, template_key text, prescribed jsonb, "
    "slot_classes jsonb, work_sets smallint, low_min numeric, high_min numeric) ON COMMIT DROP"
)
_WRITTEN: Final = {
    "version_id": "v.version_id",
    "title": "d.title",
    "template_key": "d.template_key",
    "deload": "v.deload",
    "place_id": "v.place_id",
    "changes": "v.changes",
    "prescribed": "d.prescribed",
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

_NEAR_STATIONS: Final = frozenset({PlaceKind.HOME, PlaceKind.HOTEL})


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
    documents = _Documents(_read_ground(rows, until=now.date() + timedelta(days=1)))
    written: list[tuple[Any, ...]] = []
    missing: dict[UUID, tuple[MissingReference, ...]] = {}
    without_place: dict[UUID, Mapping[str, str]] = {}
    for row in rows:
        own = documents.own(row)
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


@dataclass(frozen=True, slots=True)
class _Ground:
    """What the sessions stand on, read once."""

    days: Mapping[tuple[UUID, DayKey], tuple[Session, bool]]
    facts: Mapping[str, ExerciseFacts]
    references: Mapping[UUID, Any]
    places: Mapping[UUID, Place]


@dataclass(frozen=True, slots=True)
class _Own:
    """A session as the client does it, before loads are resolved."""

    key: tuple[Any, ...]
    session: Session
    changed: ChangedSession
    needed: tuple[str, ...]
    deload: bool


@dataclass(slots=True)
class _Documents:
    """Documents written out, each distinct one once: many clients share theirs."""

    ground: _Ground
    rows: list[tuple[Any, ...]] = field(default_factory=list)
    _owns: dict[Any, _Own | None] = field(default_factory=dict)
    _frames: dict[Any, SessionFrame] = field(default_factory=dict)
    _known: dict[Any, tuple[int, tuple[MissingReference, ...]]] = field(default_factory=dict)

    def own(self, row: PlannedSession) -> _Own | None:
        """Return a row's session with substitutes and changes; None if it can't be made."""
        key = (
            row.version_id,
            (row.week_number, row.day_number),
            orjson.dumps([row.assignment.substitutions, row.changes], option=orjson.OPT_SORT_KEYS),
        )
        if key not in self._owns:
            self._owns[key] = self._make(row, key)
        return self._owns[key]

    def _make(self, row: PlannedSession, key: tuple[Any, ...]) -> _Own | None:
        found = self.ground.days.get((row.version_id, (row.week_number, row.day_number)))
        if found is None:
            return None
        session, deload = found
        changes, facts = read_changes(row.changes), self.ground.facts
        if not _all_exercises(session, row.assignment.substitutions, changes) <= facts.keys():
            return None
        changed = changed_session(substituted_session(session, row.assignment.substitutions, facts), changes, facts)
        return _Own(
            key=key,
            session=session,
            changed=changed,
            needed=reference_exercises(changed.session),
            deload=deload or changes.deload is not None,
        )

    def number(self, row: PlannedSession, own: _Own) -> tuple[int, tuple[MissingReference, ...]]:
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
            steps = None if place is None else _steps(place, unit)
            snapshot = changed_snapshot(
                own.session, own.changed.session, self.ground.facts, references, unit=unit, steps=steps
            )
            frame = self._frame(own, place)
            self.rows.append(_document(len(self.rows) + 1, own.changed.session, snapshot.prescribed, frame))
            self._known[same] = (len(self.rows), snapshot.missing)
        return self._known[same]

    def _frame(self, own: _Own, place: Place | None) -> SessionFrame:
        near = place is not None and place.kind in _NEAR_STATIONS
        if (own.key, near) not in self._frames:
            policy = TimelinePolicy.at_home() if near else None
            self._frames[own.key, near] = session_frame(own.changed.session, self.ground.facts, policy)
        return self._frames[own.key, near]


def _read_ground(rows: Sequence[PlannedSession], *, until: date) -> _Ground:
    contents: dict[UUID, VersionContent] = {
        version.id: decode_version(version.content)
        for version in Version.objects.filter(id__in={row.version_id for row in rows})
    }
    facts = exercise_facts(_named(rows, contents.values()))
    # By the keys that merged exercises have by now, too.
    facts |= {found.key: found for found in facts.values()}
    place_ids = {row.place_id for row in rows if row.place_id is not None}
    return _Ground(
        days={
            (version_id, (week.week_number, day.day_number)): (day.session, week.deload)
            for version_id, content in contents.items()
            for week in named_by_key(content, facts).weeks
            for day in week.days
        },
        facts=facts,
        references=latest_reference_loads(client_ids={row.client_id for row in rows}, exercise_keys=facts, until=until),
        places={place.id: place for place in Place.objects.filter(id__in=place_ids)} if place_ids else {},
    )


def _named(rows: Sequence[PlannedSession], contents: Iterable[VersionContent]) -> Collection[str]:
    named = {key for content in contents for key in content.exercises}
    for row in rows:
        named |= set(row.assignment.substitutions.values()) | read_changes(row.changes).exercises
    return named


def _all_exercises(session: Session, substitutions: Mapping[str, str], changes: SessionChanges) -> frozenset[str]:
    own = session_exercises(session)
    return own | {substitutions[key] for key in own if key in substitutions} | changes.exercises


def _steps(place: Place, unit: LoadUnit) -> dict[str, Decimal]:
    return {loading: _step(step, unit) for loading, step in place.load_steps.items()}


def _step(step: Mapping[str, str], unit: LoadUnit) -> Decimal:
    if f"step_{unit}" in step:
        return Decimal(step[f"step_{unit}"])
    return lb_to_kg(Decimal(step["step_lb"])) if unit == "kg" else kg_to_lb(Decimal(step["step_kg"]))


def _document(number: int, session: Session, prescribed: Mapping[str, Any], frame: SessionFrame) -> tuple[Any, ...]:
    return (
        number,
        session.title,
        session.template_key,
        orjson.dumps(prescribed).decode(),
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
        with cursor.copy("COPY session_documents FROM STDIN") as copy:
            for document in documents:
                copy.write_row(document)
        cursor.execute(_UPDATE, [*map(list, zip(*rows, strict=True)), current_business_id()])
        changed = frozenset(found for (found,) in cursor.fetchall())
        cursor.execute("DROP TABLE session_documents")
    return changed
