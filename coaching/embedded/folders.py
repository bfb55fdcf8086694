"""Where the servers keep their data, sockets and locks, and how such folders are made safely.

No folder that was not made here ever has its owner or permissions changed.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from coaching.embedded.account import Account
from coaching.embedded.errors import EmbeddedServerError

VAR_TMP: Final = Path("/var/tmp")  # noqa: S108  # owner, mode and kind of all below it are checked
_PRIVATE: Final = 0o700
_LONGEST_SOCKET_BYTES: Final = 99
_NAME: Final = re.compile(r"[a-z][a-z0-9_-]{0,19}")
# libpq splits a host at commas, and PostgreSQL its setting too: plain paths need no quoting anywhere.
_PLAIN_PATH: Final = re.compile(r"[A-Za-z0-9/._-]+")
POSTGRES_SOCKET: Final = ".s.PGSQL.5432"


@dataclass(frozen=True)
class Home:
    """The folders of one pair of servers: one name of one project, for one major version of PostgreSQL."""

    account: Account
    base: Path
    label: str
    socket_parent: Path | None
    """Only where the data folder's path is too long or too odd for a socket."""

    @property
    def folder(self) -> Path:
        """The data and logs of both servers."""
        return self.base / self.label

    @property
    def sockets(self) -> Path:
        """The sockets of both servers."""
        return self.folder / "s" if self.socket_parent is None else self.socket_parent / self.label

    @property
    def guard(self) -> Path:
        """The lock of who starts or stops; outside ``folder``, so that erasing leaves it to those who wait."""
        return self.base / f"{self.label}.guard"

    @property
    def in_use(self) -> Path:
        """The lock shared by all who use the servers."""
        return self.base / f"{self.label}.in-use"

    def make_base(self) -> None:
        """Make the folder that all homes of the project stand in."""
        private_folder(self.base, self.account)

    def make(self) -> None:
        """Make the folders of this home."""
        if self.socket_parent is not None:
            private_folder(self.socket_parent, self.account)
        for folder in (self.folder, self.sockets):
            private_folder(folder, self.account)


def home_of(project: Path, name: str, major: int, account: Account) -> Home:
    """Lay out the folders of a pair of servers; makes nothing.

    Raises:
        EmbeddedServerError: the name is not a short plain word.
    """
    if not _NAME.fullmatch(name):
        raise EmbeddedServerError(
            f"{name!r} can't name a pair of servers: use 1 to 20 small letters, digits, '-' or '_', "
            "beginning with a letter."
        )
    project = project.resolve()
    label = f"{name}-{major}"
    # The user is part of the name, so that two users of one project never meet in one folder of /var/tmp.
    digest = hashlib.sha256(f"{account.uid}:{project}".encode()).hexdigest()[:12]
    elsewhere = VAR_TMP / f"counterpoise-{digest}"
    if account.switched:
        return Home(account, elsewhere, label, None)
    base = project / ".counterpoise"
    socket = str(base / label / "s" / POSTGRES_SOCKET)
    fits = len(os.fsencode(socket)) <= _LONGEST_SOCKET_BYTES and _PLAIN_PATH.fullmatch(socket)
    return Home(account, base, label, None if fits else elsewhere)


def private_folder(path: Path, account: Account) -> None:
    """Make a folder that only ``account`` (and root) can enter, or check that it is exactly such a folder.

    Raises:
        EmbeddedServerError: it can't be made, or what stands there belongs to somebody else, is open to
            others, or is no folder (a symbolic link is none).
    """
    made = _make(path)
    try:
        # Everything below goes through the descriptor: nobody can put a link in its place in between.
        descriptor = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    except OSError as error:
        raise _refusal(path, f"it is not a plain folder ({error.strerror})") from error
    try:
        found = os.fstat(descriptor)
        # Root-owned and empty: made just now, by us or by a start that was killed before the next line.
        ours_to_give = account.switched and found.st_uid == 0 and (made or not os.listdir(descriptor))  # noqa: PTH208
        if ours_to_give and stat.S_IMODE(found.st_mode) == _PRIVATE:
            os.fchown(descriptor, account.uid, account.gid)
        elif found.st_uid != account.uid:
            raise _refusal(path, f"it belongs to user number {found.st_uid}, not {account.uid}")
        if stat.S_IMODE(found.st_mode) & 0o077:
            raise _refusal(
                path,
                f"others may enter it (mode {stat.S_IMODE(found.st_mode):o}, wanted 700)",
            )
    finally:
        os.close(descriptor)


def _make(path: Path) -> bool:
    try:
        path.mkdir(mode=_PRIVATE)
    except FileExistsError:
        return False
    except OSError as error:
        raise EmbeddedServerError(
            f"The folder {path} for the embedded servers can't be made: {error.strerror}. "
            f"Make {path.parent} writable, or use servers of your own "
            "(set DATABASE_URL, DATABASE_OWNER_URL and REDIS_URL)."
        ) from error
    return True


def _refusal(path: Path, reason: str) -> EmbeddedServerError:
    return EmbeddedServerError(
        f"The embedded servers will not use {path}: {reason}. If nothing else needs it, remove it and start again."
    )
