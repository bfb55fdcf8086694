"""Django's settings, all from `environment.py`."""

import sys
import zoneinfo
from datetime import timedelta
from pathlib import Path
from typing import Any

from coaching.config.environment import SettingsError, read_environment

# The pinned tzdata package decides, never the zone files of whatever machine this runs on.
zoneinfo.reset_tzpath(to=())

try:
    ENVIRONMENT = read_environment()
except SettingsError as error:
    sys.exit(str(error))

ROOT = Path(__file__).resolve().parent.parent.parent
DEBUG = False
SECRET_KEY = ENVIRONMENT.secret_key
SECRET_KEY_FALLBACKS = list(ENVIRONMENT.secret_key_fallbacks)
ALLOWED_HOSTS = list(ENVIRONMENT.allowed_hosts)
PUBLIC_URL = ENVIRONMENT.public_url

INSTALLED_APPS = [
    "django.contrib.postgres",
    "django.contrib.staticfiles",
    "rest_framework",
    "knox",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "coaching",
    "programs",
    "logs",
]
MIDDLEWARE = [
    "coaching.http.request_id.RequestIdMiddleware",
    "coaching.http.security_headers.SecurityHeadersMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "coaching.http.problems.ProblemMiddleware",
    "coaching.http.rate_limits.RateLimitMiddleware",
    "coaching.http.security_log.SecurityLogMiddleware",
    "coaching.http.cross_origin.CrossOriginMiddleware",
    "coaching.http.authentication.BusinessMiddleware",
]
ROOT_URLCONF = "coaching.config.urls"
WSGI_APPLICATION = "coaching.config.wsgi.application"
TEMPLATES: list[dict[str, Any]] = [
    {"BACKEND": "django.template.backends.django.DjangoTemplates", "APP_DIRS": True, "OPTIONS": {}},
]

DATABASES: dict[str, dict[str, Any]] = {
    "default": ENVIRONMENT.database,
    # Migrations only: the role that owns the tables, which requests and workers never use.
    "owner": ENVIRONMENT.owner_database,
}
DATABASE_ROUTERS = ["coaching.tenancy.routing.OwnerMigrates"]
SERVICE_ROLE = ENVIRONMENT.service_role
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "coaching.Person"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ["email", "name"]},
    },
    {"NAME": "coaching.password_words.ContextWordsValidator"},
    {"NAME": "coaching.password_patterns.PatternsValidator"},
]
KNOX_TOKEN_MODEL = "coaching.SessionToken"  # noqa: S105 — a model's name, not a secret
REST_KNOX = {
    "TOKEN_MODEL": KNOX_TOKEN_MODEL,
    # Idle and longest times: `coaching/actions/sessions.py`, which puts the end off itself, by one statement that a
    # session ended meanwhile can't revive.
    "TOKEN_TTL": timedelta(hours=12),
    "AUTO_REFRESH": False,
    "AUTH_HEADER_PREFIX": "Bearer",
}

USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = False
STATIC_URL = "/static/"
# Served from the packages themselves, so that no collect step stands between a clone and the docs.
WHITENOISE_USE_FINDERS = True
# They are for the docs of this site alone.
WHITENOISE_ALLOW_ALL_ORIGINS = False
APPEND_SLASH = False

DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * 1024 * 1024
# Parameters of a query, fields and files of a form; the most that an operation takes is about ten.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 50
DATA_UPLOAD_MAX_NUMBER_FILES = 2
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "no-referrer"
X_FRAME_OPTIONS = "DENY"
SECURE_SSL_REDIRECT = False
SECURE_HSTS_SECONDS = 31_536_000 if ENVIRONMENT.production else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = ENVIRONMENT.production
SECURE_HSTS_PRELOAD = ENVIRONMENT.production
BEHIND_PROXY = ENVIRONMENT.behind_proxy
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = ENVIRONMENT.production
# Pages lead a browser to TLS; a program that sends its credential in the clear is told so, never helped on its way.
SECURE_REDIRECT_EXEMPT = [r"^api/"]

EMAIL_BACKEND = ENVIRONMENT.email["EMAIL_BACKEND"]
EMAIL_HOST = ENVIRONMENT.email["EMAIL_HOST"]
EMAIL_PORT = ENVIRONMENT.email["EMAIL_PORT"]
EMAIL_HOST_USER = ENVIRONMENT.email["EMAIL_HOST_USER"] or ""
EMAIL_HOST_PASSWORD = ENVIRONMENT.email["EMAIL_HOST_PASSWORD"] or ""
EMAIL_USE_TLS = ENVIRONMENT.email["EMAIL_USE_TLS"]
EMAIL_USE_SSL = ENVIRONMENT.email["EMAIL_USE_SSL"]
# Below half of the outbox's lease, so that no message is sent by two workers at once.
EMAIL_TIMEOUT = 10
DEFAULT_FROM_EMAIL = ENVIRONMENT.default_from_email

REDIS_URL = ENVIRONMENT.redis_url
RATE_LIMITS = ENVIRONMENT.rate_limits
CELERY_BROKER_URL = ENVIRONMENT.broker_url

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["coaching.http.authentication.PrincipalAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["coaching.http.authorization.OperationAllowed"],
    "DEFAULT_PARSER_CLASSES": ["coaching.http.parsers.StrictJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["coaching.http.renderers.OrjsonRenderer"],
    "DEFAULT_SCHEMA_CLASS": "coaching.http.schema.OperationSchema",
    # OPTIONS describes nothing: the schema does.
    "DEFAULT_METADATA_CLASS": None,
    "EXCEPTION_HANDLER": "coaching.http.problems.handle_exception",
    "UNAUTHENTICATED_USER": None,
    "COERCE_DECIMAL_TO_STRING": False,
    "URL_FORMAT_OVERRIDE": None,
}
DRF_STANDARDIZED_ERRORS = {
    "EXCEPTION_HANDLER_CLASS": "coaching.http.problems.ProblemHandler",
    "EXCEPTION_FORMATTER_CLASS": "coaching.http.problems.ProblemFormatter",
    "NESTED_FIELD_SEPARATOR": "/",
    "ENABLE_IN_DEBUG_FOR_UNHANDLED_EXCEPTIONS": True,
}
SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Counterpoise",
    "VERSION": "1",
    "DESCRIPTION": "Programs, assignments, logs, weekly progress, flags and alerts of a coaching team.",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PUBLIC": True,
    "SERVE_AUTHENTICATION": [],
    "SERVE_PERMISSIONS": ["rest_framework.permissions.AllowAny"],
    "COMPONENT_SPLIT_REQUEST": True,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    # Without the empty address the page asks an outside host to validate the schema.
    "SWAGGER_UI_SETTINGS": {"deepLinking": True, "validatorUrl": ""},
    # Every choice set by its own name: a guessed one changes when another field is added.
    "ENUM_NAME_OVERRIDES": {
        "Role": "coaching.models.people.Role",
        "TeamRole": "coaching.api.serializers.coaches.TEAM_ROLES",
        "MembershipState": "coaching.models.people.MembershipState",
        "InvitationState": "coaching.api.serializers.invitations.INVITATION_STATES",
        "CallerKind": "coaching.api.serializers.sessions.CALLER_KINDS",
        "Scope": "coaching.policy.Scope",
        "ActorKind": "coaching.models.audit.ActorKind",
        "OperationKind": "coaching.models.operations.OperationKind",
        "OperationState": "coaching.models.operations.OperationState",
        "Unit": "coaching.models.businesses.Unit",
        "SecondFactorRule": "coaching.models.businesses.SecondFactorRule",
        "BusinessState": "coaching.models.businesses.BusinessState",
        "ClientState": "coaching.models.clients.ClientState",
        "AbsenceKind": "coaching.models.clients.AbsenceKind",
        "FormCadence": "coaching.models.check_in_forms.FormCadence",
        "QuestionKind": "coaching.screening.form_questions.QUESTION_KINDS",
        "QuestionDirection": "coaching.screening.form_questions.DIRECTIONS",
        "LoadDayKind": "logs.analysis.load_days.DAY_KINDS",
        "LoadSpanReason": "logs.api.serializers.training_load.SPAN_REASONS",
        "LoadComparisonReason": "logs.analysis.training_load.NO_COMPARISONS",
        "WeightedLoadReason": "logs.analysis.weighted_load.NO_MEANS",
        "CheckInScoreReason": "logs.api.serializers.check_in_summary.NO_SCORES",
        "HeartRateVariabilityPlace": "logs.api.serializers.check_in_summary.HRV_PLACES",
        "AbsenceTreatment": "coaching.models.clients.AbsenceTreatment",
        "ConsentKind": "coaching.models.consents.ConsentKind",
        "ConsentGivenHow": "coaching.models.consents.ConsentGivenHow",
        "PlaceKind": "coaching.models.places.PlaceKind",
        "OutboxState": "coaching.models.outbox.OutboxState",
        "ReferenceKind": "programs.models.reference_loads.ReferenceKind",
        "ExerciseOrigin": "programs.models.exercises.ExerciseOrigin",
        "CalendarKind": "programs.models.assignments.CalendarKind",
        "AssignmentState": "programs.models.assignments.AssignmentState",
        "PlannedState": "programs.models.assignments.PlannedState",
        "VersionState": "programs.models.programs.VersionState",
        "AssignmentOutcome": "programs.api.serializers.assignments.OUTCOMES",
        "SubstitutionOutcome": "programs.api.serializers.substitutes.SUBSTITUTION_OUTCOMES",
        "BulkChangeKind": "programs.api.serializers.bulk_changes.BULK_KINDS",
        "BulkChangeOutcome": "programs.api.serializers.bulk_changes.BULK_OUTCOMES",
        "VersionMoveOutcome": "programs.api.serializers.version_moves.MOVE_OUTCOMES",
        "VersionChangeKind": "programs.api.serializers.version_changes.CHANGE_KINDS",
        "BlockKind": "programs.prescription.vocabulary.BLOCK_KINDS",
        "SetKind": "programs.prescription.vocabulary.SET_KINDS",
        "Goal": "programs.prescription.vocabulary.GOALS",
        "FindingSeverity": "programs.prescription.vocabulary.SEVERITIES",
        "LoadKind": "programs.api.serializers.documents.LOAD_KINDS",
        "TimelineEventKind": "programs.api.serializers.prescriptions.EVENT_KINDS",
        "ProgressionRuleKind": "programs.api.serializers.documents.RULE_KINDS",
        "BrakeKind": "programs.api.serializers.prescriptions.BRAKE_KINDS",
        "WeekMeasure": "programs.api.serializers.prescriptions.WEEK_MEASURES",
        "WeekVerdict": "programs.api.serializers.prescriptions.WEEK_VERDICTS",
        "HeartRateFrom": "programs.api.serializers.prescriptions.HEART_RATE_FROM",
        "PairingKind": "programs.api.serializers.pairings.KINDS",
        "PairingPlace": "programs.prescription.timeline_policy.PLACES",
        "TimelineUnit": "programs.prescription.timeline_fields.TIMELINE_UNITS",
        "Pattern": "programs.catalogue.vocabulary.Pattern",
        "Muscle": "programs.catalogue.vocabulary.Muscle",
        "StartingEnd": "programs.catalogue.vocabulary.StartingEnd",
        "RestfulEnd": "programs.catalogue.vocabulary.RestfulEnd",
        "Laterality": "programs.catalogue.vocabulary.Laterality",
        "Measure": "programs.catalogue.vocabulary.Measure",
        "LoadBasis": "programs.catalogue.vocabulary.LoadBasis",
        "Loading": "programs.catalogue.vocabulary.Loading",
        "Station": "programs.catalogue.vocabulary.Station",
        "Equipment": "programs.catalogue.vocabulary.Equipment",
        "FlagState": "logs.models.flags.FlagState",
        "FlagKind": "logs.api.serializers.flags.KINDS",
        "FlagSeverity": "logs.api.serializers.flags.SEVERITIES",
        "FlagAction": "logs.api.serializers.flags.ACTIONS",
        "AdviceAction": "logs.api.serializers.load_advice.ADVICE_ACTIONS",
        "AdviceReason": "logs.api.serializers.load_advice.ADVICE_REASONS",
        "AdviceMethod": "logs.api.serializers.load_advice.ADVICE_METHODS",
        "AdviceMissing": "logs.api.serializers.load_advice.ADVICE_MISSING",
        "LiftVerdict": "logs.api.serializers.load_advice.LIFT_VERDICTS",
        "ReturnRuleKind": "logs.api.serializers.next_sessions.RETURN_KINDS",
        "AdviceApplyTo": "logs.api.serializers.load_advice_acceptances.APPLY_TO",
        "AcceptanceOutcome": "logs.api.serializers.load_advice_acceptances.ACCEPTANCE_OUTCOMES",
        "LiftFormula": "logs.api.serializers.lifts.LIFT_FORMULAS",
        "LineTempoClass": "logs.api.serializers.lifts.TEMPO_CLASSES",
        "EstimateConfidence": "logs.api.serializers.lifts.CONFIDENCES",
        "EstimateReason": "logs.analysis.lift_lines.NO_ESTIMATES",
        "LiftRecordKind": "logs.analysis.lift_records.RECORD_KINDS",
        "LeftOutReason": "logs.api.serializers.lifts.LEFT_OUT_REASONS",
        "MatchedBasis": "logs.analysis.matched.BASES",
        "MatchedDirection": "logs.analysis.matched.DIRECTIONS",
        "MatchedReason": "logs.analysis.matched.NO_MATCHES",
        "SideDifferenceReason": "logs.analysis.side_differences.NO_DIFFERENCES",
        "TrendVerdict": "logs.analysis.trend_verdicts.VERDICTS",
        "WeeksMoreReason": "logs.analysis.trend_verdicts.WEEKS_MORE_REASONS",
        "TodayState": "logs.api.serializers.overview.TODAY_STATES",
        "OverviewAttention": "logs.api.serializers.overview.ATTENTIONS",
        "ReadinessVerdict": "logs.api.serializers.overview.VERDICTS",
        "UnknownReason": "logs.api.serializers.overview.UNKNOWN_REASONS",
        "MeasuredSource": "logs.api.serializers.overview.SOURCES",
        "LogKind": "logs.models.session_logs.LogKind",
        "LogItemKind": "logs.api.serializers.log_batches.KINDS",
        "LogItemOutcome": "logs.api.serializers.log_batches.OUTCOMES",
        "AlertState": "logs.models.alerts.AlertState",
        "LogImportState": "logs.models.log_imports.ImportState",
        "DateOrder": "logs.imports.dates.DATE_ORDERS",
        "DecimalMark": "logs.imports.mapping.DECIMAL_MARKS",
        "ImportSessionsBy": "logs.imports.mapping.SESSIONS_BY",
        "ImportFilledField": "logs.imports.fields.CARRIED",
    },
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "coaching.http.schema.document_problems",
    ],
}
SILENCED_SYSTEM_CHECKS = [
    # No cookie signs anybody in: credentials travel in a header that no other site can make a browser send.
    "security.W003",
    # TLS ends at the proxy; BEHIND_PROXY turns the redirect on.
    "security.W008",
]

LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "()": "coaching.log_lines.LogLine",
            "format": "{asctime} {levelname} {name} {message}",
            "style": "{",
        },
    },
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": ENVIRONMENT.log_level},
    # Who was let in and who was not is told at any level.
    "loggers": {"coaching.security": {"level": "INFO"}},
}

# Why each: `reliability.md`'s measurements. A killed child must give its task back (acks_late and
# reject_on_worker_lost together), a killed worker's tasks must return within seconds, not minutes
# (the transport options), and no task may outlive the visibility timeout.
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_TIME_LIMIT = 240
CELERY_TASK_SOFT_TIME_LIMIT = 210
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_SOFT_SHUTDOWN_TIMEOUT = 20
CELERY_WORKER_MAX_TASKS_PER_CHILD = 1000
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": 300,
    "unacked_restore_interval": 5,
    "unacked_restore_throttle": 1,
    "socket_timeout": 5,
    "socket_connect_timeout": 2,
    "health_check_interval": 30,
}
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_ENABLE_UTC = True
CELERY_TIMEZONE = "UTC"
