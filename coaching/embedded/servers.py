"""Start, adopt, share and stop the pair of servers.

Sharing: every process that started or adopted the servers holds a shared file lock. ``stop`` lets go of it,
and whoever finds that nobody else holds it stops the servers. The kernel lets go for a killed process, so the
next ``start`` finds the servers still running, adopts them, and its ``stop`` stops them.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from coaching.embedded.account import server_account
from coaching.embedded.addresses import Addresses
from coaching.embedded.binaries import major_version, postgres_programs, valkey_programs
from coaching.embedded.errors import EmbeddedServerError
from coaching.embedded.folders import home_of
from coaching.embedded.locks import Hold, guarded
from coaching.embedded.postgres import PostgresServer
from coaching.embedded.valkey import ValkeyServer

PROJECT: Final = Path(__file__).resolve().parents[2]


class RunningServers(Addresses):
    """A hold on the running pair; its URLs, and ``stop``. Also a context manager."""

    def __init__(
        self,
        postgres: PostgresServer,
        valkey: ValkeyServer,
        hold: Hold,
        *,
        adopted: bool,
    ) -> None:
        super().__init__(postgres.home.sockets)
        self._postgres = postgres
        self._valkey = valkey
        self._hold = hold
        self.adopted: Final = adopted
        """Whether both servers were already running."""

    def stop(self) -> bool:
        """Let go; stop the servers when nobody else holds them. Again, or in a forked child: nothing.

        Returns:
            Whether the servers were stopped.
        """
        if not self._hold.ours:
            return False
        with guarded(self._postgres.home.guard):
            alone = self._hold.alone()
            try:
                if alone:
                    _stop(self._postgres, self._valkey)
            finally:
                self._hold.release()
        return alone

    def leave_running(self) -> None:
        """Let go, but leave the servers running for the next ``start`` to adopt."""
        if self._hold.ours:
            self._hold.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.stop()


def start(
    folder: Path | None = None,
    *,
    name: str = "default",
    durable: bool = True,
    bin_dir: Path | None = None,
) -> RunningServers:
    """Start the servers of a project, or adopt them where they already run.

    Args:
        folder: the project whose servers they are (this one). Data lies in its ``.counterpoise/``; when we
            are root, which can't run PostgreSQL, in ``/var/tmp/counterpoise-…`` under an unprivileged user.
        name: one project may have several pairs, each with data of its own ("default", "tests").
        durable: False for tests: faster, and safe against everything but a crash of the machine.
        bin_dir: programs of another PostgreSQL (15 or later) instead of the wheel's; else those at
            COUNTERPOISE_PG_BIN. Each major version has data of its own.

    Raises:
        EmbeddedServerError: with a sentence that says what to do.
    """
    postgres, valkey = _pair(folder, name, bin_dir, prepare=True)
    with guarded(postgres.home.guard):
        hold = Hold(postgres.home.in_use)
        alone = hold.alone()
        try:
            adopted = _bring_up(postgres, valkey, durable=durable, alone=alone)
        except BaseException:
            if alone:
                _stop(postgres, valkey)
            hold.release()
            raise
    return RunningServers(postgres, valkey, hold, adopted=adopted)


def find_running(folder: Path | None = None, *, name: str = "default", bin_dir: Path | None = None) -> Addresses | None:
    """The addresses of the servers if both run and answer; starts, holds and changes nothing."""
    postgres, valkey = _pair(folder, name, bin_dir, prepare=False)
    if postgres.is_durable() is None or valkey.is_durable() is None:
        return None
    return Addresses(postgres.home.sockets)


def erase(folder: Path | None = None, *, name: str = "default", bin_dir: Path | None = None) -> None:
    """Stop the servers and delete everything that they hold, for a fresh start.

    Raises:
        EmbeddedServerError: another process is using them.
    """
    postgres, valkey = _pair(folder, name, bin_dir, prepare=True)
    with guarded(postgres.home.guard):
        hold = Hold(postgres.home.in_use)
        try:
            if not hold.alone():
                raise EmbeddedServerError(
                    f"The servers {name!r} are in use by another process. End it, then erase them again."
                )
            _stop(postgres, valkey)
            shutil.rmtree(postgres.home.sockets)
            if postgres.home.folder.exists():
                shutil.rmtree(postgres.home.folder)
        finally:
            hold.release()


def _pair(
    folder: Path | None, name: str, bin_dir: Path | None, *, prepare: bool
) -> tuple[PostgresServer, ValkeyServer]:
    account = server_account()
    postgres, valkey = postgres_programs(bin_dir), valkey_programs()
    major = major_version(postgres, account)
    home = home_of(folder or PROJECT, name, major, account)
    if not prepare:
        return PostgresServer(home, postgres.folder, major), ValkeyServer(home, valkey.folder)
    home.make_base()
    with guarded(home.guard):
        home.make()
    return (
        PostgresServer(home, postgres.readable_by(account, home.base), major),
        ValkeyServer(home, valkey.readable_by(account, home.base)),
    )


def _bring_up(postgres: PostgresServer, valkey: ValkeyServer, *, durable: bool, alone: bool) -> bool:
    servers: tuple[PostgresServer | ValkeyServer, ...] = (postgres, valkey)
    adopted = [_adopt_or_start(server, durable=durable, alone=alone) for server in servers]
    postgres.provision()
    return all(adopted)


def _adopt_or_start(server: PostgresServer | ValkeyServer, *, durable: bool, alone: bool) -> bool:
    kept = server.settle(alone=alone)
    if durable and kept is False:
        if not alone:
            raise EmbeddedServerError(
                "These servers are running without durable storage for another process. "
                "Use another name, or end that process first."
            )
        server.stop()
        kept = None
    if kept is None:
        server.start(durable=durable)
    return kept is not None


def _stop(postgres: PostgresServer, valkey: ValkeyServer) -> None:
    try:
        valkey.stop()
    finally:
        postgres.stop()
