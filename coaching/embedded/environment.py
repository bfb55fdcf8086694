"""Put the embedded servers' addresses, and development settings, into this process's environment."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from coaching.embedded.servers import RunningServers, start

DEVELOPMENT_DEFAULTS: Final = {
    "ENVIRONMENT": "development",
    "EMAIL_URL": "smtp://127.0.0.1:2525",
    "PUBLIC_URL": "http://127.0.0.1:8000",
    "ALLOWED_HOSTS": "127.0.0.1,localhost,testserver",
    "LOG_LEVEL": "WARNING",
}


_held: list[RunningServers] = []


def held_servers() -> RunningServers | None:
    """The embedded servers that this process holds; None where others are named."""
    return _held[-1] if _held else None


@contextmanager
def embedded_environment(*, name: str = "default", durable: bool = True) -> Iterator[RunningServers]:
    """Start or adopt the embedded servers, and name them in `os.environ` until the end.

    What the caller has set already is left as it is; a key of this process's own is made where none is.

    Raises:
        EmbeddedServerError: with a sentence that says what to do.
    """
    with start(name=name, durable=durable) as servers:
        os.environ["DATABASE_URL"] = servers.service_url
        os.environ["DATABASE_OWNER_URL"] = servers.owner_url
        os.environ.setdefault("REDIS_URL", servers.redis_url)
        os.environ.setdefault("SECRET_KEY", secrets.token_urlsafe(48))
        for setting, value in DEVELOPMENT_DEFAULTS.items():
            os.environ.setdefault(setting, value)
        _held.append(servers)
        try:
            yield servers
        finally:
            _held.remove(servers)
