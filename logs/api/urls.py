"""The API paths of `logs`, under /api/v1/."""

from django.urls import URLPattern

from coaching.http.routes import route
from logs.api.views.alerts import AlertsView
from logs.api.views.check_in_summary import CheckInSummaryView
from logs.api.views.flags import FlagAcknowledgementView, FlagResolutionView, FlagsView, FlagView
from logs.api.views.lifts import ClientLiftsView, ClientLiftView, LiftTrendsView
from logs.api.views.load_advice import LoadAdviceAcceptanceView, LoadAdviceView, NextSessionView
from logs.api.views.log_batches import HeldItemsView, HeldItemView, LogBatchesView, LogBatchView
from logs.api.views.log_imports import LogImportCommitView, LogImportDryRunView, LogImportsView, LogImportView
from logs.api.views.log_revisions import CheckInRevisionsView, SessionLogRevisionsView, SetLogRevisionsView
from logs.api.views.logs import (
    CheckInsView,
    CheckInView,
    SessionLogsView,
    SessionLogView,
    SetLogsView,
    SetLogView,
)
from logs.api.views.overview import OverviewView
from logs.api.views.performed_tempo import ClientTempoView, SessionTempoView
from logs.api.views.progress import ProgressView
from logs.api.views.readiness import ReadinessView
from logs.api.views.training_load import TrainingLoadView
from logs.api.views.work_capacity import BlocksView, ConditioningView, WorkCapacityView

urlpatterns: list[URLPattern] = [
    route("alerts", AlertsView),
    route("flags", FlagsView),
    route("flags/<uuid:flag_id>", FlagView),
    route("flags/<uuid:flag_id>/acknowledge", FlagAcknowledgementView),
    route("flags/<uuid:flag_id>/resolve", FlagResolutionView),
    route("clients/<uuid:client_id>/progress", ProgressView),
    route("clients/<uuid:client_id>/readiness", ReadinessView),
    route("clients/<uuid:client_id>/training-load", TrainingLoadView),
    route("clients/<uuid:client_id>/check-in-summary", CheckInSummaryView),
    route("clients/<uuid:client_id>/next-session", NextSessionView),
    route("load-advice", LoadAdviceView),
    route("load-advice/accept", LoadAdviceAcceptanceView),
    route("clients/<uuid:client_id>/performed-tempo", ClientTempoView),
    route("clients/<uuid:client_id>/work-capacity", WorkCapacityView),
    route("clients/<uuid:client_id>/conditioning", ConditioningView),
    route("clients/<uuid:client_id>/blocks/compare", BlocksView),
    route("session-logs/<uuid:log_id>/performed-tempo", SessionTempoView),
    route("clients/<uuid:client_id>/lifts", ClientLiftsView),
    route("clients/<uuid:client_id>/lifts/<str:exercise>", ClientLiftView),
    route("lifts", LiftTrendsView),
    route("overview", OverviewView),
    route("log-batches", LogBatchesView),
    route("log-batches/<uuid:log_batch_id>", LogBatchView),
    route("log-imports", LogImportsView),
    route("log-imports/<uuid:log_import_id>", LogImportView),
    route("log-imports/<uuid:log_import_id>/dry-run", LogImportDryRunView),
    route("log-imports/<uuid:log_import_id>/commit", LogImportCommitView),
    route("held-items", HeldItemsView),
    route("held-items/<uuid:held_item_id>", HeldItemView),
    route("session-logs", SessionLogsView),
    route("session-logs/<uuid:log_id>", SessionLogView),
    route("session-logs/<uuid:log_id>/revisions", SessionLogRevisionsView),
    route("set-logs", SetLogsView),
    route("set-logs/<uuid:log_id>", SetLogView),
    route("set-logs/<uuid:log_id>/revisions", SetLogRevisionsView),
    route("check-ins", CheckInsView),
    route("check-ins/<uuid:log_id>", CheckInView),
    route("check-ins/<uuid:log_id>/revisions", CheckInRevisionsView),
]
