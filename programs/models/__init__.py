"""Tables of the exercise catalogue, programs, assignments and the calendar."""

from programs.models.assignments import (
    Assignment,
    AssignmentPause,
    AssignmentState,
    AssignmentVersion,
    CalendarKind,
    PlannedSession,
    PlannedState,
)
from programs.models.business_timelines import BusinessTimeline
from programs.models.exercises import Exercise, ExerciseOrigin
from programs.models.movement_holds import HoldAction, MovementHold
from programs.models.programs import Program, Variant, Version, VersionState
from programs.models.reference_loads import ReferenceKind, ReferenceLoad
from programs.models.session_paces import SessionPace

__all__ = [
    "Assignment",
    "AssignmentPause",
    "AssignmentState",
    "AssignmentVersion",
    "BusinessTimeline",
    "CalendarKind",
    "Exercise",
    "ExerciseOrigin",
    "HoldAction",
    "MovementHold",
    "PlannedSession",
    "PlannedState",
    "Program",
    "ReferenceKind",
    "ReferenceLoad",
    "SessionPace",
    "Variant",
    "Version",
    "VersionState",
]
