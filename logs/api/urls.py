"""The API paths of `logs`, under /api/v1/."""

from django.urls import URLPattern

from coaching.http.routes import route
from logs.api.views.alerts import AlertsView
from logs.api.views.log_batches import HeldItemsView, LogBatchesView, LogBatchView

urlpatterns: list[URLPattern] = [
    route("alerts", AlertsView),
    route("log-batches", LogBatchesView),
    route("log-batches/<uuid:log_batch_id>", LogBatchView),
    route("held-items", HeldItemsView),
]
