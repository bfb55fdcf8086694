"""The state of a planned session, from what was logged for it.

What was performed decides, never when the log arrived: a log that comes after the session was marked missed gives
the same state as one that came at once. Excused and paused sessions that were performed all the same are done.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from coaching.measures.local_calendar import business_week
from programs.prescription.calendar import CalendarKind

State = Literal["planned", "started", "done", "part_done", "done_late", "missed", "excused", "paused"]
UntouchedState = Literal["planned", "missed", "excused", "paused"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionStatePolicy:
    """What a business may change about states."""

    part_done_under_share: Decimal = Decimal("0.75")
    """Share of the planned work sets under which a session is part done. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedFacts:
    """A session as planned.

    Attributes:
        kind: The kind of calendar.
        local_date: The planned local date.
        window_start: First day on which doing it is on time.
        window_end: Last day on which doing it is on time.
        work_sets: Planned sets that count (no warm-up, ramp or technique sets); 0 when it has none to count.
        planned_as: `planned`, `excused` or `paused`.
        overdue: Whether its due instant has passed.
    """

    kind: CalendarKind
    local_date: date
    window_start: date
    window_end: date
    work_sets: int
    planned_as: Literal["planned", "excused", "paused"] = "planned"
    overdue: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PerformedFacts:
    """One session log of a planned session.

    Attributes:
        local_date: The local date it belongs to.
        finished: It has a finish, a duration or a session RPE.
        work_sets: Logged sets that count, done or failed; one set of each side is one.
        cut_reason: Why it was cut short, in the client's words; empty when not said.
    """

    local_date: date
    finished: bool
    work_sets: int
    cut_reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionState:
    """Where a planned session stands.

    Attributes:
        state: The state.
        performed_on: The first local date on which something was performed; None while nothing was.
        moved_from: The planned date, when it was performed on time on another day of its week (`fixed_days`).
        late: Performed after its week or window; also told of a part-done session.
        work_sets: Logged sets that count, over all its logs.
        cut_reason: Why it was cut short; empty unless part done. A reason that nobody gave is `not said`.
    """

    state: State
    performed_on: date | None = None
    moved_from: date | None = None
    late: bool = False
    work_sets: int = 0
    cut_reason: str = ""


_DEFAULT_POLICY = SessionStatePolicy()


def session_state(
    planned: PlannedFacts,
    performed: Sequence[PerformedFacts],
    *,
    week_start: int,
    policy: SessionStatePolicy = _DEFAULT_POLICY,
) -> SessionState:
    """Find the state of a planned session.

    Args:
        planned: The session as planned.
        performed: Its session logs, in any order; deleted ones left out.
        week_start: The business's first weekday, 0 = Monday.
        policy: What the business may change.

    Returns:
        - No log: `excused`, `paused`, `missed` once overdue, else `planned`.
        - Only logs without finish, duration, session RPE and sets: `started`, also once overdue.
        - Under the policy's share of the planned work sets, where sets were logged, or cut short with a reason and
          no sets at all: `part_done`. A session logged without any sets is taken as done.
        - On its date, on another day of the same week (then `moved_from`), inside its window, or earlier: `done`.
        - After its business week (`fixed_days`) or its window: `done_late`.

    Raises:
        LocalCalendarError: The week start is not 0 to 6.

    Source: practice.
    """
    if not performed:
        return SessionState(state=_untouched(planned))
    work_sets = sum(log.work_sets for log in performed)
    told = [log for log in performed if log.finished or log.work_sets]
    performed_on = min(log.local_date for log in told or performed)
    if not told:
        return SessionState(state="started", performed_on=performed_on)
    last_day = planned.window_end
    if planned.kind == "fixed_days":
        last_day = business_week(planned.local_date, week_start)[1]
    late = performed_on > last_day
    reason = next((log.cut_reason for log in performed if log.cut_reason), "")
    partly = _part_done(planned.work_sets, work_sets, reason, policy)
    moved = planned.kind == "fixed_days" and not late and performed_on != planned.local_date
    return SessionState(
        state="part_done" if partly else "done_late" if late else "done",
        performed_on=performed_on,
        moved_from=planned.local_date if moved else None,
        late=late,
        work_sets=work_sets,
        cut_reason=(reason or "not said") if partly else "",
    )


def _untouched(planned: PlannedFacts) -> UntouchedState:
    if planned.planned_as != "planned":
        return planned.planned_as
    return "missed" if planned.overdue else "planned"


def _part_done(planned_sets: int, work_sets: int, reason: str, policy: SessionStatePolicy) -> bool:
    if planned_sets == 0 or work_sets == 0:
        return bool(reason)
    return Decimal(work_sets) < policy.part_done_under_share * planned_sets
