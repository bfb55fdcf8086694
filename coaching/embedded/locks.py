"""Locks between processes; the kernel lets go of them when a process ends, however it ends."""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from coaching.embedded.errors import EmbeddedServerError

_PATIENCE_S = 180.0
_POLL_S = 0.05


@contextmanager
def guarded(path: Path) -> Iterator[None]:
    """Only one process at a time looks at, starts or stops a pair of servers.

    Raises:
        EmbeddedServerError: another process has held the lock for minutes.
    """
    descriptor = _open(path)
    deadline = time.monotonic() + _PATIENCE_S
    try:
        while not _try_lock(descriptor, fcntl.LOCK_EX):
            if time.monotonic() > deadline:
                raise EmbeddedServerError(
                    f"Another process has been starting or stopping these servers for {_PATIENCE_S:.0f} "
                    f"seconds (lock {path}). End that process, then start again."
                )
            time.sleep(_POLL_S)
        yield
    finally:
        os.close(descriptor)


class Hold:
    """One user's hold on a running pair of servers: a shared lock. Made and asked only under the guard."""

    def __init__(self, path: Path) -> None:
        self._pid = os.getpid()
        self._descriptor: int | None = _open(path)
        fcntl.flock(self._descriptor, fcntl.LOCK_SH)

    @property
    def ours(self) -> bool:
        """False once released, and in a forked child, where the lock still belongs to the parent."""
        return self._descriptor is not None and self._pid == os.getpid()

    def alone(self) -> bool:
        """Whether nobody else holds these servers."""
        if self._descriptor is None:
            return False
        alone = _try_lock(self._descriptor, fcntl.LOCK_EX)
        # A refused exchange may have cost us the shared lock; the guard keeps everyone else out meanwhile.
        fcntl.flock(self._descriptor, fcntl.LOCK_SH)
        return alone

    def release(self) -> None:
        """Let go, also on behalf of forked children that inherited the descriptor."""
        if self._descriptor is not None:
            fcntl.flock(self._descriptor, fcntl.LOCK_UN)
            os.close(self._descriptor)
            self._descriptor = None


def _open(path: Path) -> int:
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, 0o600)
    except OSError as error:
        raise EmbeddedServerError(
            f"The lock {path} of the embedded servers can't be opened: {error.strerror}. "
            "Make its folder writable for this user, or remove the file."
        ) from error


def _try_lock(descriptor: int, kind: int) -> bool:
    try:
        fcntl.flock(descriptor, kind | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
