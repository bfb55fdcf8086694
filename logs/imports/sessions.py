"""Rows as sessions with their sets, and the names by which the same rows are known again."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, time
from hashlib import blake2b
from typing import Any, Final

from logs.imports.mapping import SessionsBy
from logs.imports.typed_rows import Row
from logs.imports.written_names import WrittenExercise, folded

MAX_SET_NUMBER: Final = 200
"""Sets of one exercise in one session: the intake's own bound. Practice."""

_DIGEST_BYTES: Final = 16
_SESSION_VALUES: Final = ("session_minutes", "session_rpe", "session_notes")
_Key = tuple[str, date, str]


@dataclass(slots=True)
class SetEntry:
    """A set to write; its exercise is the key of one in the catalogue."""

    row: Row
    external_id: str
    exercise: str
    set_number: int


@dataclass(slots=True)
class SessionEntry:
    """A session to write, of the rows from which it was gathered."""

    client_id: str
    local_date: date
    external_id: str
    rows: list[Row] = field(default_factory=list)
    sets: list[SetEntry] = field(default_factory=list)
    values: dict[str, Any] = field(default_factory=dict)
    started: time | None = None


@dataclass(slots=True)
class CheckInEntry:
    """A day's bodyweight to write."""

    row: Row
    client_id: str
    local_date: date
    external_id: str


@dataclass(slots=True)
class Gathered:
    """What a table's rows come to; by client and date."""

    sessions: list[SessionEntry]
    check_ins: list[CheckInEntry]


def gathered(
    rows: Iterable[Row],
    *,
    exercises: Mapping[str, WrittenExercise],
    clients: Mapping[str, str] | str,
    sessions_by: SessionsBy,
) -> Gathered:
    """Gather rows into sessions. Rows with faults are left out, but count where sets are numbered by their order.

    Args:
        rows: as read; rows that contradict another get a fault more.
        exercises: by folded name, what is meant.
        clients: by folded name, the id of who is meant; or the id of the one client of all rows.
        sessions_by: whether times of day tell sessions of one day apart.

    Returns:
        Sessions without a good row are left out.
    """
    gatherer = _Gatherer(exercises, clients, sessions_by)
    for row in rows:
        gatherer.take(row)
    sessions = [one for one in gatherer.sessions.values() if one.rows]
    sessions.sort(key=lambda one: (one.client_id, one.local_date))
    check_ins = [one for one in gatherer.check_ins.values() if not one.row.faults]
    return Gathered(sessions, check_ins)


class _Gatherer:
    def __init__(
        self, exercises: Mapping[str, WrittenExercise], clients: Mapping[str, str] | str, sessions_by: SessionsBy
    ) -> None:
        self.exercises = exercises
        self.clients = clients
        self.sessions_by = sessions_by
        self.sessions: dict[_Key, SessionEntry] = {}
        self.check_ins: dict[tuple[str, date], CheckInEntry] = {}
        self.told_by: dict[tuple[_Key, str], Row] = {}
        self.numbers: dict[tuple[_Key, str], int] = {}
        self.ordinals: dict[tuple[_Key, str], int] = {}
        self.identities: dict[tuple[str, str], Row] = {}

    def take(self, row: Row) -> None:
        client_id, day = self._client_of(row), row.local_date
        if client_id is None or day is None:
            return
        if "bodyweight" in row.values:
            self._weigh(row, client_id, day)
        if not row.has_set and not any(name in row.values for name in _SESSION_VALUES):
            return
        key = (client_id, day, self._told_apart(row))
        session = self.sessions.get(key)
        if session is None:
            session = SessionEntry(client_id, day, f"session:{_digest(day.isoformat(), key[2])}")
            self.sessions[key] = session
        self._tell(session, key, row)
        sets = self._sets(session, key, row) if row.has_set else []
        if not row.faults:
            session.rows.append(row)
            session.sets.extend(sets)
            if row.started is not None and (session.started is None or row.started < session.started):
                session.started = row.started

    def _client_of(self, row: Row) -> str | None:
        if isinstance(self.clients, str):
            return self.clients
        return self.clients.get(folded(row.values.get("client", "")))

    def _told_apart(self, row: Row) -> str:
        label = folded(row.values.get("session", ""))
        at = row.started if self.sessions_by == "start_time" else None
        return label if at is None else f"{label}@{at.isoformat()}"

    def _tell(self, session: SessionEntry, key: _Key, row: Row) -> None:
        """Take what a row says of its whole session; two rows may not say two things."""
        for name in _SESSION_VALUES:
            value = row.values.get(name)
            if value is None:
                continue
            first = self.told_by.setdefault((key, name), row)
            if first.values[name] != value:
                row.fault(
                    name,
                    "differs_in_session",
                    f"Row {first.number} of the same session says {first.values[name]}; make them equal, or map a "
                    "column that tells the sessions apart.",
                )
            elif not row.faults:
                session.values[name] = value

    def _weigh(self, row: Row, client_id: str, day: date) -> None:
        known = self.check_ins.setdefault(
            (client_id, day), CheckInEntry(row, client_id, day, f"check_in:{day.isoformat()}")
        )
        if known.row.values["bodyweight"] != row.values["bodyweight"]:
            row.fault(
                "bodyweight", "differs_in_day", f"Row {known.row.number} of the same day says otherwise; keep one."
            )

    def _sets(self, session: SessionEntry, key: _Key, row: Row) -> list[SetEntry]:
        written = self.exercises[folded(row.values["exercise"])]
        slug, exercise = written.identity, written.key
        entries = []
        number = 0
        for ordinal in range(row.values.get("set_count", 1)):
            number = self._number(key, exercise or slug, row, ordinal)
            place = self._place(key, slug, row, number)
            row_id = row.values.get("row_id")
            external_id = (
                f"set:{_digest(session.external_id, slug, place)}"
                if row_id is None
                else f"row:{_digest(row_id, str(ordinal))}"
            )
            earlier = self.identities.setdefault((session.client_id, external_id), row)
            if earlier is not row:
                self._refuse_repeated(row, earlier, number)
                break
            if exercise is not None:
                entries.append(SetEntry(row, external_id, exercise, number))
        if number > MAX_SET_NUMBER:
            row.fault(
                "exercise",
                "too_many_sets",
                f"This is set {number} of one exercise in one session, which has at most {MAX_SET_NUMBER}; map a "
                "column that tells the sessions apart.",
            )
        return entries

    def _number(self, key: _Key, exercise: str, row: Row, ordinal: int) -> int:
        said = row.values.get("set_number")
        number = self.numbers.get((key, exercise), 0) + 1 if said is None else said + ordinal
        self.numbers[key, exercise] = max(number, self.numbers.get((key, exercise), 0))
        return int(number)

    def _place(self, key: _Key, slug: str, row: Row, number: int) -> str:
        """Say which of an exercise's sets in a session it is, alike in every file that holds it."""
        if "set_number" in row.values:
            return f"{number} {row.values.get('side', 'both')} {row.values.get('kind') == 'warm_up'}"
        self.ordinals[key, slug] = self.ordinals.get((key, slug), 0) + 1
        return f"#{self.ordinals[key, slug]}"

    def _refuse_repeated(self, row: Row, earlier: Row, number: int) -> None:
        if "row_id" in row.values:
            row.fault(
                "row_id",
                "duplicate_id",
                f"Row {earlier.number} has this id too; give each row its own, or don't map the column.",
            )
        else:
            row.fault(
                "set_number",
                "duplicate_set_number",
                f"Row {earlier.number} is set {number} of the same exercise and session too; number them apart, or "
                "leave one out.",
            )


def _digest(*parts: str) -> str:
    return blake2b("\x1f".join(parts).encode(), digest_size=_DIGEST_BYTES).hexdigest()
