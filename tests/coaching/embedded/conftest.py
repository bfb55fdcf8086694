"""Real servers of throw-away projects; whatever a test leaves running is ended by its own number."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

from coaching.embedded import RunningServers, start
from tests.coaching.embedded.leftovers import base_of, processes_under


@pytest.fixture(scope="session", autouse=True)
def _the_wheels_programs() -> Iterator[None]:
    """These tests are about the wheel's own PostgreSQL, also in a run whose database is another one's."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("COUNTERPOISE_PG_BIN", raising=False)
        yield


@pytest.fixture
def new_project(tmp_path: Path) -> Iterator[Path]:
    """The folder of a project that has had no servers yet."""
    folder = tmp_path / "project"
    folder.mkdir()
    yield folder
    clear_away(folder)


@pytest.fixture(scope="session")
def first_data(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A project whose servers have run once and hold nothing yet."""
    folder = tmp_path_factory.mktemp("first")
    start(folder, durable=False).stop()
    yield folder
    clear_away(folder)


@pytest.fixture
def project(new_project: Path, first_data: Path) -> Path:
    """The folder of a project whose servers have run before: saves creating the data in each test."""
    subprocess.run(["cp", "-a", str(base_of(first_data)), str(base_of(new_project))], check=True)
    return new_project


@pytest.fixture(scope="module")
def servers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningServers]:
    """One running pair for tests that only look."""
    folder = tmp_path_factory.mktemp("looked-at")
    with start(folder, name="tests", durable=False) as running:
        yield running
    clear_away(folder)


def clear_away(folder: Path) -> None:
    base = base_of(folder)
    left = processes_under(base)
    for process in left:
        process.kill()
    psutil.wait_procs(left, timeout=10)
    shutil.rmtree(base, ignore_errors=True)
