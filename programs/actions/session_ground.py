"""What planned sessions are written out from, read once for any number of them: versions, exercises, places, loads."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID

import orjson

from coaching.models import Place
from programs.models import PlannedSession, Version
from programs.prescription.calendar import DayKey
from programs.prescription.document import decode_version
from programs.prescription.session_changes import ChangedSession, SessionChanges, changed_session
from programs.prescription.session_changes_document import read_changes
from programs.prescription.snapshot import reference_exercises
from programs.prescription.structure import ExerciseFacts, Session, VersionContent, session_exercises
from programs.prescription.timeline_fields import Timelines
from programs.selectors.exercises import exercise_facts
from programs.selectors.prescriptions import named_by_key
from programs.selectors.reference_loads import latest_reference_loads
from programs.selectors.timelines import business_timelines


@dataclass(frozen=True, slots=True)
class FollowedSession:
    """A session as its client follows it, before loads are resolved.

    Attributes:
        key: what makes it the same as another: version, day, substitutes and changes.
        changed: with the client's substitutes and this session's changes.
        deload: whether it is one, by the version's week or by a change.
        deload_week: whether the version's week is one.
        needed: the exercises whose loads depend on references.
    """

    key: tuple[Any, ...]
    changed: ChangedSession
    deload: bool
    deload_week: bool
    needed: tuple[str, ...]


@dataclass(slots=True)
class SessionGround:
    """What the sessions stand on."""

    days: Mapping[tuple[UUID, DayKey], tuple[Session, bool]]
    facts: Mapping[str, ExerciseFacts]
    references: Mapping[UUID, Any]
    places: Mapping[UUID, Place]
    timelines: Timelines
    _followed: dict[Any, FollowedSession | None] = field(default_factory=dict)

    def followed(self, row: PlannedSession) -> FollowedSession | None:
        """Return a row's session as it is followed; None if its version or the catalogue has lost something of it."""
        key = (
            row.version_id,
            (row.week_number, row.day_number),
            orjson.dumps([row.assignment.substitutions, row.changes], option=orjson.OPT_SORT_KEYS),
        )
        if key not in self._followed:
            self._followed[key] = self._make(row, key)
        return self._followed[key]

    def written(self, row: PlannedSession) -> Session | None:
        """Return a row's session as its version prescribes it; None as `followed` does."""
        found = self.days.get((row.version_id, (row.week_number, row.day_number)))
        if found is None:
            return None
        changes = read_changes(row.changes)
        if not _all_exercises(found[0], row.assignment.substitutions, changes) <= self.facts.keys():
            return None
        return found[0]

    def changed(self, row: PlannedSession, changes: SessionChanges) -> ChangedSession | None:
        """Return a row's session with the client's substitutes and these changes; None as `followed` does."""
        session = self.written(row)
        if session is None:
            return None
        return changed_session(session, changes, self.facts, row.assignment.substitutions)

    def _make(self, row: PlannedSession, key: tuple[Any, ...]) -> FollowedSession | None:
        changes = read_changes(row.changes)
        changed = self.changed(row, changes)
        if changed is None:
            return None
        _session, deload_week = self.days[row.version_id, (row.week_number, row.day_number)]
        unaccepted = changed.unaccepted or changed.session
        return FollowedSession(
            key=key,
            changed=changed,
            deload=deload_week or changes.deload is not None,
            deload_week=deload_week,
            # What an accepted load stands instead of is told beside it, from its reference.
            needed=tuple(dict.fromkeys((*reference_exercises(changed.session), *reference_exercises(unaccepted)))),
        )


def read_session_ground(rows: Sequence[PlannedSession], *, until: date, beside: Collection[str] = ()) -> SessionGround:
    """Read what sessions are written out from, in a constant number of statements.

    Args:
        rows: the sessions, with their `assignment`.
        until: references dated later are left out.
        beside: exercises to be known beside those of the sessions, by id or key.
    """
    contents: dict[UUID, VersionContent] = {
        version.id: decode_version(version.content)
        for version in Version.objects.filter(id__in={row.version_id for row in rows})
    }
    facts = exercise_facts(_named(rows, contents.values()) | set(beside))
    # By the keys that merged exercises have by now, too.
    facts |= {found.key: found for found in facts.values()}
    place_ids = {row.place_id for row in rows if row.place_id is not None}
    return SessionGround(
        days={
            (version_id, (week.week_number, day.day_number)): (day.session, week.deload)
            for version_id, content in contents.items()
            for week in named_by_key(content, facts).weeks
            for day in week.days
        },
        facts=facts,
        references=latest_reference_loads(client_ids={row.client_id for row in rows}, exercise_keys=facts, until=until),
        places={place.id: place for place in Place.objects.filter(id__in=place_ids)} if place_ids else {},
        timelines=business_timelines(),
    )


def _named(rows: Sequence[PlannedSession], contents: Iterable[VersionContent]) -> set[str]:
    named = {key for content in contents for key in content.exercises}
    for row in rows:
        named |= set(row.assignment.substitutions.values()) | read_changes(row.changes).exercises
    return named


def _all_exercises(session: Session, substitutions: Mapping[str, str], changes: SessionChanges) -> frozenset[str]:
    own = session_exercises(session) | changes.exercises
    return own | {substitutions[key] for key in own if key in substitutions}
