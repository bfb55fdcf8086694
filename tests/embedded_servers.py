"""Loaded before Django's settings: names the servers that the run uses.

Without DATABASE_URL the embedded ones are started, under a name of their own, and stopped at the end. Of tests that
run side by side, each process has a database of its own on the one PostgreSQL, and a numbered one of the queue.
"""

import atexit
import os
from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

from coaching.embedded.environment import embedded_environment

# A whole suite is one address, and asks more in a minute than any caller; tests of the limits set their own.
os.environ.setdefault("LOG_LEVEL", "INFO")
for kind in ("READING", "WRITING", "EXPENSIVE", "ANONYMOUS"):
    os.environ.setdefault(f"RATE_LIMIT_{kind}_PER_MIN", "10000000")

if "DATABASE_URL" not in os.environ:
    servers = embedded_environment(name="tests", durable=False)
    servers.__enter__()
    atexit.register(servers.__exit__, None, None, None)


def _numbered(url: str, number: int) -> str:
    parts = urlsplit(url)
    if parts.scheme == "unix":
        named = dict(parse_qsl(parts.query)) | {"db": str(number)}
        return f"unix://{parts.path}?{urlencode(named)}"
    return urlunsplit(parts._replace(path=f"/{number}"))


if worker := os.environ.get("PYTEST_XDIST_WORKER"):
    os.environ["REDIS_URL"] = _numbered(os.environ["REDIS_URL"], int(worker.removeprefix("gw")) + 1)
