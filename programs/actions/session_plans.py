"""Write out the sessions of a version for clients, in one statement for any number of them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from typing import Any, Final, cast
from uuid import UUID

import orjson
from django.db import connection

from coaching.models import Absence, Client
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id
from programs.actions.snapshot_rows import SNAPSHOT_COLUMNS, snapshot_row
from programs.prescription.calendar import DayKey, PlannedDate, ProgramWeek, due_at
from programs.prescription.loads import ReferenceLoad
from programs.prescription.session_pace import middle_min
from programs.prescription.snapshot import (
    MissingReference,
    SessionFrame,
    reference_exercises,
    session_frame,
    session_snapshot,
)
from programs.prescription.structure import Day, ExerciseFacts, VersionContent, exercises_in_order
from programs.prescription.timeline import TimelinePolicy
from programs.prescription.vocabulary import LoadUnit, Reference
from programs.selectors.substitutes import ClientFit, clients_fit

ClientReferences = Mapping[str, Mapping[Reference, ReferenceLoad]]

# Row-level security refuses a COPY into the table itself; as an array parameter the documents of 200 clients
# took ten times as long.
_SNAPSHOTS: Final = f"CREATE TEMPORARY TABLE session_snapshots (snapshot int, {SNAPSHOT_COLUMNS}) ON COMMIT DROP"

# Day and snapshot are sent once each, however many clients follow them.
_INSERT: Final = """
INSERT INTO programs_plannedsession (
  id, business_id, assignment_id, client_id, version_id, week_number, day_number, template_key, title, deload,
  local_date, window_start, window_end, zone, due_at, state, excuse_reason, absence_id, cut_reason, prescribed,
  slot_classes, set_slots, set_figures, set_loads_kg, planned_reps, planned_work_sets, planned_low_min,
  planned_high_min, row_version)
SELECT r.id, %s, r.assignment_id, r.client_id, %s, d.week_number, d.day_number, d.template_key, d.title, d.deload,
  r.local_date, r.window_start, r.window_end, r.zone, r.due_at, r.state, r.excuse_reason, r.absence_id, '',
  s.prescribed, d.slot_classes, s.set_slots, s.set_figures, s.set_loads_kg, s.planned_reps, d.work_sets, d.low_min,
  d.high_min, 1
FROM unnest(%s::uuid[], %s::uuid[], %s::uuid[], %s::int[], %s::int[], %s::date[], %s::date[], %s::date[],
  %s::text[], %s::timestamptz[], %s::text[], %s::text[], %s::uuid[])
  AS r (id, assignment_id, client_id, day, snapshot, local_date, window_start, window_end, zone, due_at, state,
    excuse_reason, absence_id)
JOIN unnest(%s::int[], %s::smallint[], %s::smallint[], %s::text[], %s::text[], %s::bool[], %s::jsonb[],
  %s::smallint[], %s::numeric[], %s::numeric[])
  AS d (day, week_number, day_number, template_key, title, deload, slot_classes, work_sets, low_min, high_min)
  ON d.day = r.day
JOIN session_snapshots s ON s.snapshot = r.snapshot
"""


@dataclass(frozen=True, slots=True)
class VersionPlan:
    """A version's days, and what is the same of each for every client."""

    version_id: UUID
    content: VersionContent
    facts: Mapping[str, ExerciseFacts]
    days: Mapping[DayKey, Day]
    frames: Mapping[DayKey, SessionFrame]

    @classmethod
    def of(
        cls, version_id: UUID, content: VersionContent, facts: Mapping[str, ExerciseFacts], policy: TimelinePolicy
    ) -> "VersionPlan":
        """Reckon a version's days, their time by the business's policy."""
        days = {(week.week_number, day.day_number): day for week in content.weeks for day in week.days}
        frames = {key: session_frame(day.session, facts, policy) for key, day in days.items()}
        return cls(version_id, content, facts, days, frames)

    @property
    def weeks(self) -> list[ProgramWeek]:
        """The weeks as the calendar takes them."""
        return [
            ProgramWeek(week_number=week.week_number, day_numbers=tuple(day.day_number for day in week.days))
            for week in self.content.weeks
        ]

    def used(self, days: Iterable[DayKey]) -> list[ExerciseFacts]:
        """Return the exercises of some days, in the order in which they come first."""
        named = [name for key in days for name in exercises_in_order(self.days[key].session)]
        return [self.facts[name] for name in dict.fromkeys(named)]

    def fit(
        self, clients: Iterable[Client], used: Mapping[UUID, Sequence[ExerciseFacts]] | None = None
    ) -> dict[UUID, ClientFit]:
        """Hold it against what each client has and can do, and propose what to do instead.

        Args:
            clients: whom it is given to.
            used: by client, the exercises that they are to do; all of it where it is left out.
        """
        frames, given = self.frames.values(), list(clients)
        everything = self.used(self.days) if used is None else []
        return clients_fit(
            clients=given,
            used=dict.fromkeys((client.id for client in given), everything) if used is None else used,
            longest_min=max(frame.high_min for frame in frames),
            longest_mid_min=max(middle_min(frame.low_min, frame.high_min) for frame in frames),
        )


@dataclass(slots=True)
class Snapshots:
    """The sessions of a version written out, each distinct document kept once.

    Clients without reference loads, or with the same, share their documents.
    """

    plan: VersionPlan
    documents: list[tuple[Any, ...]] = field(default_factory=list)
    _known: dict[Any, tuple[int, tuple[MissingReference, ...]]] = field(default_factory=dict)

    def number(
        self, key: DayKey, *, unit: LoadUnit, references: ClientReferences
    ) -> tuple[int, tuple[MissingReference, ...]]:
        """Return a document's number, counted from 1, and the reference loads that it lacks."""
        session = self.plan.days[key].session
        needed = reference_exercises(session)
        own = {exercise: references.get(exercise, {}) for exercise in needed}
        same = (key, unit, tuple((exercise, tuple(sorted(known.items()))) for exercise, known in own.items()))
        if same not in self._known:
            written = session_snapshot(session, self.plan.facts, own, unit=unit)
            self.documents.append(snapshot_row(written.prescribed))
            self._known[same] = (len(self.documents), written.missing)
        return self._known[same]


@dataclass(slots=True)
class SessionRows:
    """Rows of planned sessions, gathered until they are written together."""

    snapshots: Snapshots
    grace_h: int
    rows: list[tuple[Any, ...]] = field(default_factory=list)

    def add(
        self,
        *,
        assignment_id: UUID,
        client: Client,
        dates: Sequence[PlannedDate],
        references: ClientReferences,
        absences: Sequence[Absence],
    ) -> tuple[MissingReference, ...]:
        """Gather a client's sessions; return the reference loads that they lack, each once."""
        lacking: dict[tuple[str, str], MissingReference] = {}
        days = self._days()
        for place in dates:
            key = (place.week_number, place.day_number)
            number, missing = self.snapshots.number(key, unit=cast("LoadUnit", client.unit), references=references)
            lacking |= {(lack.exercise, lack.of): lack for lack in missing}
            absence = _taking(place, absences) if place.planned_as == "excused" else None
            self.rows.append(
                (
                    new_id(),
                    assignment_id,
                    client.id,
                    days[key],
                    number,
                    place.local_date,
                    place.window_start,
                    place.window_end,
                    client.time_zone,
                    None if place.waits else _due_at(place.window_end, client.time_zone, self.grace_h),
                    place.planned_as,
                    f"Away: {absence.kind}." if absence else "",
                    absence.id if absence else None,
                )
            )
        return tuple(lacking.values())

    @property
    def session_ids(self) -> list[UUID]:
        """The ids of the gathered sessions."""
        return [row[0] for row in self.rows]

    def insert(self) -> None:
        """Write the gathered rows."""
        if not self.rows:
            return
        plan = self.snapshots.plan
        with connection.cursor() as cursor:
            cursor.execute(_SNAPSHOTS)
            # Django leaves the errors of a copy as the driver raises them.
            with connection.wrap_database_errors, cursor.copy("COPY session_snapshots FROM STDIN") as copy:
                for number, document in enumerate(self.snapshots.documents, start=1):
                    copy.write_row((number, *document))
            cursor.execute(
                _INSERT,
                [
                    current_business_id(),
                    plan.version_id,
                    *map(list, zip(*self.rows, strict=True)),
                    *map(list, zip(*_day_rows(plan, self._days()), strict=True)),
                ],
            )
            cursor.execute("DROP TABLE session_snapshots")

    def _days(self) -> dict[DayKey, int]:
        return {key: number for number, key in enumerate(self.snapshots.plan.days)}


def _day_rows(plan: VersionPlan, numbers: Mapping[DayKey, int]) -> Iterable[tuple[Any, ...]]:
    deloads = {week.week_number: week.deload for week in plan.content.weeks}
    for key, day in plan.days.items():
        frame = plan.frames[key]
        yield (
            numbers[key],
            *key,
            day.session.template_key,
            day.session.title,
            deloads[key[0]],
            orjson.dumps(dict(frame.slot_classes)).decode(),
            frame.work_sets,
            frame.low_min,
            frame.high_min,
        )


def _taking(place: PlannedDate, absences: Sequence[Absence]) -> Absence | None:
    return next(
        (
            absence
            for absence in absences
            if absence.starts_on <= place.window_end and absence.ends_on >= place.window_start
        ),
        None,
    )


@lru_cache(maxsize=4096)
def _due_at(day: date, zone_name: str, grace_h: int) -> datetime:
    return due_at(day, zone_name, grace_h)
