"""The API paths of `programs`, under /api/v1/."""

from coaching.http.routes import route
from programs.api.views.absences import AbsencesView, AbsenceView
from programs.api.views.assignments import AssignmentsView, AssignmentView, PauseView, ResumeView, ShiftView
from programs.api.views.cards import SessionCardView
from programs.api.views.exercises import ExercisesView, ExerciseView, MergeView
from programs.api.views.pairings import PairingsView
from programs.api.views.parsing import ParseView
from programs.api.views.planned_sessions import BulkChangeView, PlannedSessionsView, PlannedSessionView
from programs.api.views.prescriptions import AnalyseView
from programs.api.views.programs import (
    ProgramsView,
    ProgramVersionsView,
    ProgramVersionView,
    ProgramView,
    PublishView,
    VersionAnalysisView,
    WithdrawView,
)
from programs.api.views.reference_loads import ReferenceLoadsView, ReferenceLoadView
from programs.api.views.substitutions import SubstitutesView, SubstitutionsView
from programs.api.views.timelines import SessionPaceView, TimelinePolicyView
from programs.api.views.version_changes import VersionDiffView, VersionPreviewView
from programs.api.views.version_moves import VersionMovesView, VersionMoveView

urlpatterns = [
    route("exercises", ExercisesView),
    route("exercises/<str:exercise>", ExerciseView),
    route("exercises/<str:exercise>/substitutes", SubstitutesView),
    route("exercises/<str:exercise>/merge", MergeView),
    route("prescriptions/analyse", AnalyseView),
    route("prescriptions/pairings", PairingsView),
    route("prescriptions/parse", ParseView),
    route("programs", ProgramsView),
    route("programs/<uuid:program_id>", ProgramView),
    route("programs/<uuid:program_id>/versions", ProgramVersionsView),
    route("program-versions/<uuid:version_id>", ProgramVersionView),
    route("program-versions/<uuid:version_id>/publish", PublishView),
    route("program-versions/<uuid:version_id>/withdraw", WithdrawView),
    route("program-versions/<uuid:version_id>/analysis", VersionAnalysisView),
    route("program-versions/<uuid:version_id>/diff", VersionDiffView),
    route("program-versions/<uuid:version_id>/preview", VersionPreviewView),
    route("assignments", AssignmentsView),
    route("assignments/move-to-version", VersionMovesView),
    route("assignments/<uuid:assignment_id>/move-to-version", VersionMoveView),
    route("assignments/substitutions", SubstitutionsView),
    route("assignments/<uuid:assignment_id>", AssignmentView),
    route("assignments/<uuid:assignment_id>/pause", PauseView),
    route("assignments/<uuid:assignment_id>/resume", ResumeView),
    route("assignments/<uuid:assignment_id>/shift", ShiftView),
    route("planned-sessions", PlannedSessionsView),
    route("planned-sessions/bulk-change", BulkChangeView),
    route("planned-sessions/<uuid:planned_session_id>", PlannedSessionView),
    route("planned-sessions/<uuid:planned_session_id>/card", SessionCardView),
    route("absences", AbsencesView),
    route("absences/<uuid:absence_id>", AbsenceView),
    route("clients/<uuid:client_id>/reference-loads", ReferenceLoadsView),
    route("clients/<uuid:client_id>/reference-loads/<uuid:reference_load_id>", ReferenceLoadView),
    route("clients/<uuid:client_id>/session-pace", SessionPaceView),
    route("timeline-policy", TimelinePolicyView),
]
