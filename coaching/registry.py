"""What each app adds to the kernel's work, filled in its `AppConfig.ready()`.

The kernel can't import the apps that stand on it; they name here what it must call.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Job:
    """Work that may be due in some businesses.

    Attributes:
        name: what logs and locks call it.
        businesses: the businesses in which something is due by an instant, longest waiting first.
        run: does a bounded piece of it for one business, opening its own scopes; says whether more is due.
    """

    name: str
    businesses: Callable[[datetime], Iterable[UUID]]
    run: Callable[[UUID, datetime], bool]


@dataclass(frozen=True, slots=True)
class Rendered:
    """A message ready for its receiver, kept with the outbox row so that retries say the same."""

    to: str
    subject: str
    text: str
    html: str
    headers: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """The ground of a message is gone; the reason is shown with it."""

    reason: str


@dataclass(frozen=True, slots=True)
class Postponed:
    """A message that must not go out yet (quiet hours); it is due again at `until`."""

    until: datetime


@dataclass(frozen=True, slots=True)
class MessageKind:
    """A kind of outbox message.

    Attributes:
        prepare: called with the claimed message, locked (payload, what was rendered before or None), and
            the instant, right before it is sent; re-checks that it is still true and says what to send.
        retry_after: how long to wait after the first, second, … refusal; then the message has failed.
        holds_secret: the message holds a link that lets somebody in; it is written anew for each attempt, and never
            kept with its row.
    """

    prepare: Callable[[Any, datetime], Rendered | Withdrawn | Postponed]
    retry_after: tuple[timedelta, ...]
    holds_secret: bool = False


@dataclass(slots=True)
class Kept:
    """Until when a business keeps things, and what was deleted as older.

    Attributes:
        held_before: sets that came last before this instant no longer wait for their session.
        imports_before: files uploaded before are forgotten.
        batches_before: records of batches received before go.
        mails_before: what mails said that were settled before is emptied.
        ended_before: the logs of clients who ended before go; None keeps them.
        rows: how many rows a piece may take at most.
        counts: what was deleted, by table.
    """

    held_before: datetime
    imports_before: datetime
    batches_before: datetime
    mails_before: datetime
    ended_before: datetime | None
    rows: int
    counts: dict[str, int] = field(default_factory=dict)

    def count(self, table: str, rows: int) -> bool:
        """Note how many rows of a table went; say whether it was a whole piece, so that more may be due."""
        if rows:
            self.counts[table] = self.counts.get(table, 0) + rows
        return rows >= self.rows


EMAIL_RETRY_AFTER = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 180, 360, 360, 360))
"""Over about 24 hours, denser at first. Practice."""


on_business_created: list[Callable[[UUID], None]] = []
"""Called in the new business's scope, once, right after its rows were made."""

on_client_zone_changed: list[Callable[[UUID, str, datetime], None]] = []
"""Called with the client's id, the new zone and the instant, in the transaction of the change."""

on_business_policy_changed: list[Callable[[frozenset[str], datetime], None]] = []
"""Called with the names of the changed fields (`grace_h`, `week_start`, …), in the transaction of the change."""

known_equipment: set[str] = set()
"""The words that a client's equipment is told in; empty while no app names them."""

known_loadings: set[str] = set()
"""The ways in which exercises are loaded, for the steps of a place; empty while no app names them."""

on_place_changed: list[Callable[[UUID, datetime], None]] = []
"""Called with the client's id when one of their places changed or is about to go, in its transaction."""

on_absence_changed: list[Callable[[UUID, datetime], None]] = []
"""Called with the client's id when an absence was recorded or removed, in its transaction."""

on_planned_sessions_changed: list[Callable[[list[UUID], datetime], None]] = []
"""Called with the ids of planned sessions that were moved, excused, given back or settled, in that transaction."""

on_session_days_changed: list[Callable[[list[UUID], datetime], None]] = []
"""Called with the ids of planned sessions that are new, or whose days changed, at the end of that change."""

on_exercises_merged: list[Callable[[UUID, UUID, datetime], None]] = []
"""Called with the id of the exercise that went and of the one that it was merged into, in that transaction."""

on_exercises_changed: list[Callable[[list[UUID], datetime], None]] = []
"""Called with the ids of exercises whose muscles or loading are told otherwise now, in that transaction."""

before_client_erased: list[Callable[[UUID, datetime], tuple[str, list[UUID]]]] = []
"""Called with the id of a client who is about to be erased, before their row is locked, in the transaction: empties
what holds a person among others and is locked before clients are; returns the table, and the rows emptied."""

on_client_erased: list[Callable[[UUID, datetime], tuple[str, int]]] = []
"""Called with the id of a client whose rows are gone, in the transaction: takes them out of what names them without a
key to them; returns the table, and how many rows changed."""

retention_jobs: list[Callable[[Kept, datetime], bool]] = []
"""Called nightly for each business, in its scope, with how long it keeps things and the instant: deletes a
bounded piece of what is older; says whether more is due."""

export_jobs: list[Job] = []
"""Making the files that were asked for: longer work than any other, in a task of its own."""

dispatch_jobs: list[Job] = []
"""Every two seconds: stale weeks, due deliveries."""

tick_jobs: list[Job] = []
"""Every thirty seconds: due instants become rows."""

reconcile_jobs: list[Job] = []
"""Nightly: what should exist by the facts of the last days and does not."""

overdue_probes: dict[str, Callable[[datetime], bool]] = {}
"""By what is watched: whether its background work is overdue at an instant (`/healthz/detection`)."""

message_kinds: dict[str, MessageKind] = {}
"""By `OutboxMessage.kind`."""
