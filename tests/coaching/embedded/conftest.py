"""Real servers of throw-away projects; whatever a test leaves running is ended by its own number."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

from coaching.embedded import RunningServers, start
from tests.coaching.embedded.leftovers import base_of, processes_under


@pytest.fixture
def project(tmp_path: Path) -> Iterator[Path]:
    """The folder of a project that has no servers yet."""
    folder = tmp_path / "project"
    folder.mkdir()
    yield folder
    clear_away(folder)


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
