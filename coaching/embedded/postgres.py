"""One PostgreSQL server on a unix socket.

Its pg_hba says ``trust``: the socket stands in a folder of mode 0700, so only the user who owns it, and root,
can reach it at all, and there is no TCP port. Whoever could connect could read the data files too; a password
would guard nothing, and would have to lie in a file next to them.
"""

from __future__ import annotations

import os
import shutil
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import psycopg

from coaching.embedded.addresses import ADMIN, POSTGRES_PORT, Addresses
from coaching.embedded.errors import EmbeddedServerError, log_tail
from coaching.embedded.folders import POSTGRES_SOCKET, Home
from coaching.embedded.processes import ended_pid, exists, mentions, read_number, runs_on
from coaching.embedded.roles import is_provisioned, provision

_BUILTIN_LOCALE_SINCE: Final = 17
_START_S: Final = 120
_STOP_S: Final = 60
_OLD_SESSIONS_S: Final = 30
_POLL_S: Final = 0.02
_IN_THE_BACKGROUND: Final = 'log=$1; shift; "$@" </dev/null >>"$log" 2>&1 & echo $!'


@dataclass(frozen=True)
class PostgresServer:
    """The PostgreSQL server of a home; ``bin_dir`` must be readable by the home's account."""

    home: Home
    bin_dir: Path
    major: int

    @property
    def data(self) -> Path:
        """The data folder."""
        return self.home.folder / "postgresql"

    @property
    def log(self) -> Path:
        """The server's log."""
        return self.home.folder / "postgresql.log"

    def is_durable(self) -> bool | None:
        """Whether the server that answers now keeps commits through a power cut; None: none answers."""
        try:
            with self._connect() as connection:
                fsync = connection.execute("SELECT current_setting('fsync')").fetchone()
        except psycopg.OperationalError:
            return None
        return fsync == ("on",)

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
                    f"PostgreSQL (process {pid}) has not answered for {_START_S} seconds. "
                    f"End that process, then start again. {log_tail(self.log)}"
                )
            time.sleep(_POLL_S)
        return None

    def start(self, *, durable: bool) -> None:
        """Start the server, first creating its data where there is none; the caller knows that none runs.

        Raises:
            EmbeddedServerError: it does not start.
        """
        if not self.data.exists():
            self._create(durable=durable)
        self._forget_reused_pids()
        deadline = time.monotonic() + _OLD_SESSIONS_S
        while not self._try_start(durable=durable):
            if time.monotonic() > deadline:
                raise EmbeddedServerError(
                    "PostgreSQL did not start: processes of a killed server still use its data. "
                    f"End them, then start again. {log_tail(self.log)}"
                )

    def stop(self) -> None:
        """Stop the server if it runs: sessions are cut, everything committed is kept."""
        if self._pid() is None:
            return
        printed = ""
        for mode in ("fast", "immediate"):
            printed = self._pg_ctl_stop(mode)
            if self._pid() is None:
                return
        raise EmbeddedServerError(f"PostgreSQL did not stop: {printed} {log_tail(self.log)}")

    def provision(self) -> None:
        """Roles, database and privileges, unless they are there already."""
        with self._connect() as connection:
            if not is_provisioned(connection):
                provision(connection)

    def _connect(self) -> psycopg.Connection[Any]:
        return psycopg.connect(
            Addresses(self.home.sockets).database_url(ADMIN, "postgres"),
            autocommit=True,
            connect_timeout=10,
        )

    def _pid(self) -> int | None:
        pid = read_number(self.data / "postmaster.pid")
        return pid if pid is not None and runs_on(pid, "postgres", self.data) else None

    def _create(self, *, durable: bool) -> None:
        # Made beside its place and then renamed: a start that is killed half way leaves no half data folder.
        draft = self.home.folder / "postgresql.new"
        if draft.exists():
            shutil.rmtree(draft)
        locale = (
            ["--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--locale=C"]
            if self.major >= _BUILTIN_LOCALE_SINCE
            else [
                "--lc-collate=C",
                "--lc-ctype=C.UTF-8",
                "--lc-messages=C",
                "--locale=C",
            ]
        )
        sync = [] if durable else ["--no-sync"]
        status, printed = self.home.account.run(
            [
                self.bin_dir / "initdb",
                *(
                    "-D",
                    draft,
                    "-U",
                    ADMIN,
                    "--auth=trust",
                    "--encoding=UTF8",
                    "--data-checksums",
                ),
                *locale,
                *sync,
            ],
            folder=self.home.folder,
            timeout_s=120,
        )
        if status != 0:
            raise EmbeddedServerError(
                f"PostgreSQL could not create its data folder {self.data}. Its own words:\n{printed.strip()}"
            )
        draft.rename(self.data)

    def _forget_reused_pids(self) -> None:
        """Keep PostgreSQL from taking a stranger for its predecessor.

        It trusts a pid file whose number is taken by any process of its user. Only the number is replaced:
        by the rest of the file the server finds out whether old backends still use its shared memory.
        """
        for leftover in (POSTGRES_SOCKET, f"{POSTGRES_SOCKET}.lock"):
            (self.home.sockets / leftover).unlink(missing_ok=True)
        path = self.data / "postmaster.pid"
        pid = read_number(path)
        if pid is None or not exists(pid):
            return
        descriptor = os.open(path, os.O_RDWR | os.O_NOFOLLOW)
        with os.fdopen(descriptor, "r+") as stream:
            rest = stream.read().split("\n", 1)[1:]
            stream.seek(0)
            stream.write("\n".join([str(ended_pid()), *rest]))
            stream.truncate()

    def _try_start(self, *, durable: bool) -> bool:
        """Start it; False when sessions of a killed predecessor are still ending."""
        size = self.log.stat().st_size if self.log.exists() else 0
        settings: list[str | Path] = [
            part for key, value in self._settings(durable=durable).items() for part in ("-c", f"{key}={value}")
        ]
        command = [self.bin_dir / "postgres", "-D", self.data, *settings]
        # Not by `pg_ctl start`, which puts paths into a shell command and fails on some characters.
        _, printed = self.home.account.run(
            ["/bin/sh", "-c", _IN_THE_BACKGROUND, "sh", self.log, *command],
            folder=self.home.folder,
            timeout_s=_START_S,
        )
        if self._appears(int(printed)):
            return True
        with self.log.open(errors="replace") as stream:
            stream.seek(size)
            if "still in use" in stream.read():
                time.sleep(_POLL_S)
                return False
        raise EmbeddedServerError(f"PostgreSQL did not start. {log_tail(self.log)}")

    def _appears(self, pid: int) -> bool:
        deadline = time.monotonic() + _START_S
        while self.is_durable() is None:
            # Between fork and exec it is still the shell, which names the program as well.
            if not mentions(pid, self.data):
                return False
            if time.monotonic() > deadline:
                return False
            time.sleep(_POLL_S)
        return True

    def _settings(self, *, durable: bool) -> dict[str, str]:
        kept = "on" if durable else "off"
        return {
            "listen_addresses": "",
            "port": str(POSTGRES_PORT),
            "unix_socket_directories": str(self.home.sockets),
            "unix_socket_permissions": "0700",
            "timezone": "UTC",
            "log_timezone": "UTC",
            "fsync": kept,
            "synchronous_commit": kept,
            "full_page_writes": kept,
        }

    def _pg_ctl_stop(self, mode: str) -> str:
        _, printed = self.home.account.run(
            [self.bin_dir / "pg_ctl", "stop", "-w", "-D", self.data, "-m", mode, "-t", str(_STOP_S)],
            folder=self.home.folder,
            timeout_s=_STOP_S + 30,
        )
        return printed.strip()
