"""The unprivileged account that the servers run as."""

from __future__ import annotations

import os
import pwd
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from coaching.embedded.errors import EmbeddedServerError

_PREFERRED: Final = ("nobody", "daemon", "bin")


@dataclass(frozen=True)
class Account:
    """A user of this machine; ``switched`` when it is another one than this process runs as."""

    uid: int
    gid: int
    switched: bool

    def run(self, command: Sequence[str | Path], *, folder: Path, timeout_s: float) -> tuple[int, str]:
        """Run a short command as this account, in ``folder``; answer its exit status and all that it printed.

        The command stands in a session of its own, and so does whatever it leaves running: Ctrl-C in the
        terminal then reaches only the parent, which stops the servers in order.

        Raises:
            EmbeddedServerError: the command can't be run at all, or takes longer than ``timeout_s``.
        """
        arguments = [str(part) for part in command]
        try:
            finished = subprocess.run(  # noqa: S603  # only the servers' own programs
                arguments,
                cwd=folder,
                env=_clean_environment(),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
                errors="replace",
                timeout=timeout_s,
                check=False,
                start_new_session=True,
                umask=0o077,
                user=self.uid if self.switched else None,
                group=self.gid if self.switched else None,
                extra_groups=[] if self.switched else None,
            )
        except subprocess.TimeoutExpired as error:
            raise EmbeddedServerError(
                f"{arguments[0]} did not finish within {timeout_s:.0f} seconds. "
                "Look whether the machine is overloaded or its disk is full, then start again."
            ) from error
        except OSError as error:
            raise EmbeddedServerError(
                f"{arguments[0]} can't be run as user number {self.uid}: {error}. "
                "Check that the file is there and may be executed by that user, or use servers of your own "
                "(set DATABASE_URL, DATABASE_OWNER_URL and REDIS_URL)."
            ) from error
        return finished.returncode, finished.stdout


def server_account() -> Account:
    """The account for the servers: our own, or an existing unprivileged one when we are root.

    PostgreSQL refuses to run as root, and a server needs none of root's rights. No user is ever created.

    Raises:
        EmbeddedServerError: this machine has no account that the servers could run as.
    """
    if os.geteuid() != 0:
        return _own_account()
    accounts = {entry.pw_name: entry for entry in pwd.getpwall() if entry.pw_uid != 0 and entry.pw_gid != 0}
    if not accounts:
        raise EmbeddedServerError(
            "PostgreSQL does not run as root, and this machine has no other user (see /etc/passwd). "
            "Run the command as an ordinary user instead."
        )
    by_uid = sorted(accounts.values(), key=lambda entry: entry.pw_uid)
    chosen = next((accounts[name] for name in _PREFERRED if name in accounts), by_uid[-1])
    return Account(uid=chosen.pw_uid, gid=chosen.pw_gid, switched=True)


def _own_account() -> Account:
    uid = os.geteuid()
    try:
        pwd.getpwuid(uid)
    except KeyError:
        raise EmbeddedServerError(
            f"User number {uid} has no name on this machine, and PostgreSQL refuses to run for such a user. "
            "Run the command as a user that stands in /etc/passwd."
        ) from None
    return Account(uid=uid, gid=os.getegid(), switched=False)


def _clean_environment() -> dict[str, str]:
    # PGPORT, PGDATA and their like would change what the servers do.
    kept = ("PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH")
    return {"PATH": os.defpath, "LC_ALL": "C", "TZ": "UTC"} | {
        name: os.environ[name] for name in kept if name in os.environ
    }
