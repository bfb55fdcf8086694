"""What the service reads from its environment: typed, checked together, refused with sentences."""

import os
from dataclasses import dataclass
from ipaddress import ip_address
from typing import Any, Final, cast
from urllib.parse import parse_qsl, urlsplit

from environs import Env, EnvValidationError, ValidationError

from coaching.http.rate_policy import PER_MINUTE, RateClass

MINIMUM_SECRET_CHARACTERS: Final = 50
REDIS_SCHEMES: Final = ("redis", "rediss", "unix")
LEAST_RATE: Final = 50
CONNECT_TIMEOUT_S: Final = 3
EMAIL_SCHEMES: Final = ("smtp", "smtps", "smtp+tls", "smtp+ssl", "submission")


class SettingsError(Exception):
    """One or more settings are missing or wrong; the message lists each with what to change."""


@dataclass(frozen=True, slots=True)
class Environment:
    """The settings of one process."""

    production: bool
    secret_key: str
    secret_key_fallbacks: tuple[str, ...]
    database: dict[str, Any]
    owner_database: dict[str, Any]
    redis_url: str
    email: dict[str, Any]
    default_from_email: str
    allowed_hosts: tuple[str, ...]
    public_url: str
    behind_proxy: bool
    log_level: str
    rate_limits: dict[RateClass, int]

    @property
    def service_role(self) -> str:
        """The database role that web and workers log in as."""
        return str(self.database["USER"])

    @property
    def broker_url(self) -> str:
        """`redis_url` in the spelling that the task queue's library wants for a unix socket."""
        parts = urlsplit(self.redis_url)
        if parts.scheme == "unix":
            number = dict(parse_qsl(parts.query)).get("db", "0")
            return f"redis+socket://{parts.path}?virtual_host={number}"
        return self.redis_url


def read_environment() -> Environment:
    """Read and check every setting of this process.

    Raises:
        SettingsError: with one line for each setting that is missing, malformed or, in production, insecure.
    """
    env = Env(eager=False)
    values: dict[str, Any] = {
        "environment": env.str("ENVIRONMENT", "production", validate=_one_of("production", "development")),
        "secret_key": env.str("SECRET_KEY", validate=_filled),
        "secret_key_fallbacks": tuple(env.list("SECRET_KEY_FALLBACKS", [])),
        "database": env.dj_db_url("DATABASE_URL", conn_max_age=600, conn_health_checks=True),
        "owner_database": env.dj_db_url("DATABASE_OWNER_URL" if "DATABASE_OWNER_URL" in os.environ else "DATABASE_URL"),
        "redis_url": env.str("REDIS_URL", validate=_scheme(*REDIS_SCHEMES)),
        "email_url": env.str("EMAIL_URL", validate=_scheme(*EMAIL_SCHEMES)),
        "email": env.dj_email_url("EMAIL_URL"),
        "default_from_email": env.str("DEFAULT_FROM_EMAIL", "Counterpoise <alerts@localhost>"),
        "public_url": env.str("PUBLIC_URL", validate=_scheme("https", "http")),
        "allowed_hosts": tuple(env.list("ALLOWED_HOSTS", [])),
        "behind_proxy": env.bool("BEHIND_PROXY", False),
        "log_level": env.str("LOG_LEVEL", "INFO", validate=_one_of("DEBUG", "INFO", "WARNING", "ERROR")),
        "rate_limits": {
            name: env.int(f"RATE_LIMIT_{name.upper()}_PER_MIN", default, validate=_at_least(LEAST_RATE))
            for name, default in PER_MINUTE.items()
        },
    }
    try:
        env.seal()
    except EnvValidationError as error:
        messages = cast("dict[str, list[str]]", error.error_messages)
        faults = [f"{name}: {' '.join(dict.fromkeys(said))}" for name, said in messages.items()]
        raise SettingsError(_refusal(faults)) from error
    settings = _settings(values)
    faults = _database_faults(settings)
    if settings.production:
        faults += _insecure(settings)
    if faults:
        raise SettingsError(_refusal(faults))
    return settings


def _settings(values: dict[str, Any]) -> Environment:
    host = urlsplit(values["public_url"]).hostname or ""
    return Environment(
        production=values["environment"] == "production",
        secret_key=values["secret_key"],
        secret_key_fallbacks=values["secret_key_fallbacks"],
        database=_patient_for_seconds(values["database"]),
        owner_database=values["owner_database"],
        redis_url=values["redis_url"],
        email=values["email"],
        default_from_email=values["default_from_email"],
        allowed_hosts=values["allowed_hosts"] or (host,),
        public_url=values["public_url"].rstrip("/"),
        behind_proxy=values["behind_proxy"],
        log_level=values["log_level"],
        rate_limits=values["rate_limits"],
    )


def _patient_for_seconds(database: dict[str, Any]) -> dict[str, Any]:
    """Give up on a server that does not answer before whoever asks us does."""
    return {**database, "OPTIONS": {"connect_timeout": CONNECT_TIMEOUT_S, **database.get("OPTIONS", {})}}


def _refusal(faults: list[str]) -> str:
    lines = "\n".join(f"- {fault}" for fault in faults)
    return f"Counterpoise can't start; change these settings (README, Settings):\n{lines}"


def _database_faults(settings: Environment) -> list[str]:
    return [
        f"{name}: it must start with postgresql://, for the data needs PostgreSQL 15 to 18."
        for name, database in (
            ("DATABASE_URL", settings.database),
            ("DATABASE_OWNER_URL", settings.owner_database),
        )
        if database["ENGINE"] != "django.db.backends.postgresql"
    ]


def _insecure(settings: Environment) -> list[str]:
    checks = [
        (
            len(settings.secret_key) < MINIMUM_SECRET_CHARACTERS,
            f"SECRET_KEY: give it at least {MINIMUM_SECRET_CHARACTERS} random characters.",
        ),
        (
            not settings.public_url.startswith("https://"),
            "PUBLIC_URL: it must start with https:// in production, for tokens travel over it.",
        ),
        ("*" in settings.allowed_hosts, "ALLOWED_HOSTS: name each host; * admits forged Host headers."),
        (
            settings.database["USER"] == settings.owner_database["USER"],
            "DATABASE_OWNER_URL: name another role than DATABASE_URL's, for the service must not own its tables.",
        ),
        (
            not (settings.email["EMAIL_USE_TLS"] or settings.email["EMAIL_USE_SSL"])
            and not _is_local(str(settings.email["EMAIL_HOST"])),
            "EMAIL_URL: use smtps:// or submission:// (TLS) for a mail server on another machine.",
        ),
        (
            urlsplit(settings.redis_url).scheme == "redis"
            and not _is_local(urlsplit(settings.redis_url).hostname or "")
            and not urlsplit(settings.redis_url).password,
            "REDIS_URL: a server on another machine needs a password (redis://:password@host) or rediss://.",
        ),
    ]
    return [sentence for insecure, sentence in checks if insecure]


def _is_local(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host in {"", "localhost"}


def _filled(value: str) -> None:
    if not value.strip():
        raise ValidationError("it is empty.")


def _one_of(*choices: str) -> Any:
    def check(value: str) -> None:
        if value not in choices:
            raise ValidationError(f"{value!r} is not one of {', '.join(choices)}.")

    return check


def _at_least(minimum: int) -> Any:
    def check(value: int) -> None:
        if value < minimum:
            raise ValidationError(f"it must be at least {minimum}, so that one full batch of logs gets through.")

    return check


def _scheme(*schemes: str) -> Any:
    def check(value: str) -> None:
        if urlsplit(value).scheme not in schemes:
            raise ValidationError(f"it must start with one of {', '.join(f'{s}://' for s in schemes)}.")

    return check
