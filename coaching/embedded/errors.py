"""The one error of the embedded servers."""

from __future__ import annotations

import os
from pathlib import Path

_TAIL_LINES = 15


class EmbeddedServerError(RuntimeError):
    """The embedded servers can't be used; the message says what to do about it."""


def log_tail(log: Path) -> str:
    """The last lines of a server's log, ready to stand at the end of a message."""
    try:
        descriptor = os.open(log, os.O_RDONLY | os.O_NOFOLLOW)
    except OSError:
        return f"It left no log at {log}."
    with os.fdopen(descriptor, errors="replace") as stream:
        lines = stream.read().splitlines()[-_TAIL_LINES:]
    return "\n".join([f"The end of its log ({log}):", *lines])
