"""What stands on the disk and in the process table for a project."""

from __future__ import annotations

from pathlib import Path

import psutil

from coaching.embedded.account import server_account
from coaching.embedded.folders import Home, home_of


def home(project: Path, name: str = "default", major: int = 18) -> Home:
    return home_of(project, name, major, server_account())


def base_of(project: Path) -> Path:
    return home(project).base


def processes_under(base: Path) -> list[psutil.Process]:
    """The servers started on a folder below ``base``: ended ones that nobody waited for do not count."""
    found = []
    for process in psutil.process_iter():
        try:
            if str(base) in " ".join(process.cmdline()) and process.name() in {"postgres", "valkey-server"}:
                found.append(process)
        except (psutil.NoSuchProcess, psutil.ZombieProcess, psutil.AccessDenied):
            continue
    return found


def postmaster(project: Path, major: int = 18) -> psutil.Process:
    return only(project, "postgres", major)


def valkey(project: Path, major: int = 18) -> psutil.Process:
    return only(project, "valkey-server", major)


def only(project: Path, program: str, major: int) -> psutil.Process:
    (process,) = (p for p in processes_under(home(project, major=major).folder) if p.name() == program)
    return process
