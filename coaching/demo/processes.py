"""The service's real processes, started for the demo and stopped in order."""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from types import TracebackType
from typing import Final, Self

import httpx
import psutil

ROOT: Final = Path(__file__).resolve().parents[2]
READY_WITHIN_S: Final = 30
STOPPED_WITHIN_S: Final = 10
SAME_START_S: Final = 0.5


class DemoError(Exception):
    """The demo can't go on; the sentence says why and what to change."""


class Processes:
    """The web server, the worker and beat, each with its output in a file of its own."""

    def __init__(self, folder: Path, environment: dict[str, str]) -> None:
        self._folder = folder
        self._environment = {**os.environ, **environment}
        self._running: list[tuple[str, subprocess.Popen[bytes]]] = []
        folder.mkdir(parents=True, exist_ok=True)
        self._stop_leftovers()

    def start_web(self, port: int) -> None:
        """Start the web server and wait until it answers.

        Raises:
            DemoError: when the port is taken or the server doesn't answer.
        """
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError as error:
                raise DemoError(f"Port {port} is taken: name another with --port.") from error
        command = ["gunicorn", "--config", "python:coaching.config.gunicorn", "coaching.config.wsgi:application"]
        self._start("web", [*command, "--bind", f"127.0.0.1:{port}", "--no-control-socket"])
        self._wait_until_ready(f"http://127.0.0.1:{port}/readyz")

    def start_worker(self) -> None:
        """Start a worker with two children."""
        self._start("worker", ["celery", "-A", "coaching.config.celery", "worker", "--concurrency", "2"])

    def start_beat(self) -> None:
        """Start beat."""
        schedule = self._folder / "beat-schedule"
        self._start("beat", ["celery", "-A", "coaching.config.celery", "beat", "--schedule", str(schedule)])

    def _start(self, name: str, command: list[str]) -> None:
        with (self._folder / f"{name}.log").open("wb") as output:
            process = subprocess.Popen(  # noqa: S603 — our own commands
                [sys.executable, "-m", *command],
                cwd=ROOT,
                env=self._environment,
                stdout=output,
                stderr=subprocess.STDOUT,
                # Out of the terminal's group: Ctrl-C is ours to pass on, in order.
                start_new_session=True,
            )
        self._running.append((name, process))
        (self._folder / f"{name}.pid").write_text(f"{process.pid} {psutil.Process(process.pid).create_time()}")

    def _stop_leftovers(self) -> None:
        """End what a run that was killed left behind; its number alone may be another process's by now."""
        for note in self._folder.glob("*.pid"):
            number, started = note.read_text().split()
            with contextlib.suppress(psutil.NoSuchProcess):
                left = psutil.Process(int(number))
                if abs(left.create_time() - float(started)) < SAME_START_S:
                    family = [left, *left.children(recursive=True)]
                    for process in family:
                        with contextlib.suppress(psutil.NoSuchProcess):
                            process.terminate()
                    _gone, alive = psutil.wait_procs(family, timeout=STOPPED_WITHIN_S)
                    for process in alive:
                        process.kill()
            note.unlink(missing_ok=True)

    def _wait_until_ready(self, address: str) -> None:
        until = time.monotonic() + READY_WITHIN_S
        while time.monotonic() < until:
            self.check()
            with contextlib.suppress(httpx.TransportError):
                if httpx.get(address).is_success:
                    return
            time.sleep(0.1)
        raise DemoError(f"The web server did not answer; its output is in {self._folder / 'web.log'}.")

    def check(self) -> None:
        """See that every process still runs.

        Raises:
            DemoError: with the end of its output, when one has ended.
        """
        for name, process in self._running:
            if process.poll() is not None:
                tail = (self._folder / f"{name}.log").read_text(errors="replace").splitlines()[-12:]
                raise DemoError(f"The {name} process ended by itself:\n" + "\n".join(tail))

    def stop(self) -> None:
        """Stop all, last started first, and wait for each."""
        while self._running:
            name, process = self._running.pop()
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(STOPPED_WITHIN_S)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()
            (self._folder / f"{name}.pid").unlink(missing_ok=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()
