"""Sessions that are given back follow the version that their assignment follows by then."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from programs.actions.session_rewrites import rewrite_sessions
from programs.models import AssignmentVersion, PlannedSession, PlannedState


def take_version_in_force(rows: Sequence[PlannedSession], *, now: datetime) -> None:
    """Write planned sessions anew whose assignment moved to another version while they were excused.

    A session that the version in force does not have stays as it was planned.

    Args:
        rows: locked sessions with their `assignment` and `client`.
        now: references until then hold.
    """
    planned = [row for row in rows if row.state == PlannedState.PLANNED]
    if not planned:
        return
    followed: dict[UUID, list[AssignmentVersion]] = defaultdict(list)
    given = AssignmentVersion.objects.filter(assignment_id__in={row.assignment_id for row in planned})
    for version in given.order_by("from_date"):
        followed[version.assignment_id].append(version)
    moved: list[PlannedSession] = []
    for row in planned:
        in_force = [version for version in followed[row.assignment_id] if version.from_date <= row.local_date]
        if in_force and in_force[-1].version_id != row.version_id:
            row.version_id = in_force[-1].version_id
            moved.append(row)
    rewrite_sessions(moved, now=now)
