"""Is the process with this number really the server that we mean?"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

_POLL_S = 0.02


def runs_on(pid: int, program: str, path: Path) -> bool:
    """Whether process ``pid`` is ``program`` started on ``path``, which only our servers are.

    A number in a pid file may meanwhile belong to some other process; a process that has ended but that
    nobody has waited for yet has no arguments left and counts as gone.
    """
    arguments = _arguments(pid)
    return bool(arguments) and Path(arguments[0]).name == program and mentions(pid, path)


def mentions(pid: int, path: Path) -> bool:
    """Whether process ``pid`` was started with ``path`` among its arguments."""
    return str(path) in " ".join(_arguments(pid))


def wait_until_gone(pid: int, program: str, path: Path, *, timeout_s: float) -> bool:
    """Wait for the process to end; False when it still runs after ``timeout_s``."""
    deadline = time.monotonic() + timeout_s
    while runs_on(pid, program, path):
        if time.monotonic() > deadline:
            return False
        time.sleep(_POLL_S)
    return True


def ended_pid() -> int:
    """The number of a process that has just ended, so that no process has it now."""
    finished = subprocess.Popen([sys.executable, "-S", "-c", ""])
    finished.wait()
    return finished.pid


def exists(pid: int) -> bool:
    """Whether some process, ours or not, has this number."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


def read_number(path: Path) -> int | None:
    """The number on the first line of a pid file; None when there is no such file or no number in it."""
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NOFOLLOW)
    except OSError:
        return None
    with os.fdopen(descriptor, errors="replace") as stream:
        first = stream.readline().strip()
    return int(first) if first.isascii() and first.isdigit() and int(first) > 1 else None


def _arguments(pid: int) -> list[str]:
    if Path("/proc/self/cmdline").exists():
        try:
            raw = Path(f"/proc/{pid}/cmdline").read_bytes()
        except OSError:
            return []
        return [os.fsdecode(part) for part in raw.split(b"\0") if part]
    listing = subprocess.run(  # noqa: S603  # a number is all that varies
        ["/bin/ps", "-ww", "-o", "args=", "-p", str(pid)],
        capture_output=True,
        text=True,
        check=False,
    )
    return listing.stdout.split()
