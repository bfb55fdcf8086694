"""One Valkey server on a unix socket; what it holds survives a kill (append-only file, each second)."""

from __future__ import annotations

import contextlib
import os
import signal
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import redis
from redis.backoff import NoBackoff
from redis.retry import Retry

from coaching.embedded.addresses import Addresses
from coaching.embedded.errors import EmbeddedServerError, log_tail
from coaching.embedded.folders import Home, private_folder
from coaching.embedded.processes import read_number, runs_on, wait_until_gone

_PROGRAM: Final = "valkey-server"
_START_S: Final = 30.0
_STOP_S: Final = 15.0
_POLL_S: Final = 0.02


@dataclass(frozen=True)
class ValkeyServer:
    """The Valkey server of a home; ``bin_dir`` must be readable by the home's account."""

    home: Home
    bin_dir: Path

    @property
    def data(self) -> Path:
        """The data folder."""
        return self.home.folder / "valkey"

    @property
    def log(self) -> Path:
        """The server's log."""
        return self.home.folder / "valkey.log"

    @property
    def socket(self) -> Path:
        """The socket, by which its process is known as well."""
        return Addresses(self.home.sockets).valkey_socket

    def is_durable(self) -> bool | None:
        """Whether the server that answers now writes its append-only file; None: none answers."""
        try:
            with self._connect() as client:
                return bool(client.config_get("appendonly") == {"appendonly": "yes"})
        except redis.RedisError:
            return None

    def settle(self, *, alone: bool) -> bool | None:
        """Wait until a server left behind answers or is gone; answers as ``is_durable``.

        One that never answers is stopped when nobody else can be using it.

        Raises:
            EmbeddedServerError: it does not answer, and is not ours alone.
        """
        deadline = time.monotonic() + _START_S
        while (pid := self._pid()) is not None:
            durable = self.is_durable()
            if durable is not None:
                return durable
            if time.monotonic() > deadline:
                if alone:
                    self.stop()
                    return None
                raise EmbeddedServerError(
                    f"Valkey (process {pid}) has not answered for {_START_S:.0f} seconds. "
                    f"End that process, then start again. {log_tail(self.log)}"
                )
            time.sleep(_POLL_S)
        return None

    def start(self, *, durable: bool) -> None:
        """Start the server; the caller knows that none runs.

        Raises:
            EmbeddedServerError: it does not start.
        """
        private_folder(self.data, self.home.account)
        self._end_a_moved_server()
        self._pid_file.unlink(missing_ok=True)
        self.socket.unlink(missing_ok=True)
        settings: dict[str, str | Path] = {
            "port": "0",
            "unixsocket": self.socket,
            "unixsocketperm": "700",
            "daemonize": "yes",
            "pidfile": self._pid_file,
            "logfile": self.log,
            "dir": self.data,
            "appendonly": "yes" if durable else "no",
            "appendfsync": "everysec",
            "save": "",
            # Keeps the arguments visible, by which we know the process again.
            "set-proc-title": "no",
        }
        arguments: list[str | Path] = [part for key, value in settings.items() for part in (f"--{key}", value)]
        status, printed = self.home.account.run(
            [self.bin_dir / _PROGRAM, *arguments],
            folder=self.home.folder,
            timeout_s=_START_S,
        )
        if status != 0 or not self._appears():
            raise EmbeddedServerError(f"Valkey did not start. {printed.strip()} {log_tail(self.log)}")

    def stop(self) -> None:
        """Stop the server if it runs; it writes what it holds first."""
        pid = self._pid()
        if pid is None:
            return
        for sign in (signal.SIGTERM, signal.SIGKILL):
            try:
                os.kill(pid, sign)
            except ProcessLookupError:
                return
            if wait_until_gone(pid, _PROGRAM, self.socket, timeout_s=_STOP_S):
                return
        raise EmbeddedServerError(f"Valkey (process {pid}) did not stop. End it by hand. {log_tail(self.log)}")

    @property
    def _pid_file(self) -> Path:
        return self.home.folder / "valkey.pid"

    def _pid(self) -> int | None:
        pid = read_number(self._pid_file)
        return pid if pid is not None and runs_on(pid, _PROGRAM, self.socket) else None

    def _appears(self) -> bool:
        # The pid file is written a moment after the program has gone to the background.
        deadline = time.monotonic() + _START_S
        while self._pid() is None or self.is_durable() is None:
            if time.monotonic() > deadline:
                return False
            time.sleep(_POLL_S)
        return True

    def _end_a_moved_server(self) -> None:
        # After the project folder was moved, its old server still answers here, though its arguments differ.
        # Two servers must not write one append-only file.
        with contextlib.suppress(redis.RedisError), self._connect() as client:
            client.shutdown(nosave=True)

    def _connect(self) -> redis.Redis:
        return redis.Redis(
            unix_socket_path=str(self.socket),
            socket_timeout=5,
            decode_responses=True,
            retry=Retry(NoBackoff(), 0),
        )
