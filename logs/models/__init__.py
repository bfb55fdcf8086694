"""Tables of logs, weekly figures, flags and alerts."""

from logs.models.alerts import AlertDigest, AlertState, MissedAlert
from logs.models.client_weeks import ClientWeek
from logs.models.flags import Flag, FlagEvaluation, FlagState
from logs.models.log_imports import ImportState, LogImport
from logs.models.session_logs import (
    CheckIn,
    HeldItem,
    LogBatch,
    LogKind,
    LogRevision,
    SessionLog,
    SetLog,
)

__all__ = [
    "AlertDigest",
    "AlertState",
    "CheckIn",
    "ClientWeek",
    "Flag",
    "FlagEvaluation",
    "FlagState",
    "HeldItem",
    "ImportState",
    "LogBatch",
    "LogImport",
    "LogKind",
    "LogRevision",
    "MissedAlert",
    "SessionLog",
    "SetLog",
]
