"""What a killed run of the demo leaves behind is ended by the next one."""

import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from coaching.demo.processes import DemoError, Processes


def _sleeper() -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"], start_new_session=True)


def test_a_process_that_a_killed_run_left_is_ended(tmp_path: Path) -> None:
    left = _sleeper()
    (tmp_path / "web.pid").write_text(f"{left.pid} {psutil.Process(left.pid).create_time()}")
    Processes(tmp_path, {})
    assert left.wait(10) is not None
    assert list(tmp_path.glob("*.pid")) == []


def test_a_stranger_that_has_the_number_by_now_is_left_alone(tmp_path: Path) -> None:
    stranger = _sleeper()
    try:
        (tmp_path / "web.pid").write_text(f"{stranger.pid} {psutil.Process(stranger.pid).create_time() - 100}")
        Processes(tmp_path, {})
        assert stranger.poll() is None
    finally:
        stranger.kill()
        stranger.wait()


def test_a_process_that_ends_by_itself_is_told_with_its_last_words(tmp_path: Path) -> None:
    with Processes(tmp_path, {}) as processes:
        processes._start("worker", ["this-module-does-not-exist"])
        processes._running[0][1].wait(30)
        with pytest.raises(DemoError, match="worker process ended by itself"):
            processes.check()
