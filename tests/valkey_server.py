"""A Valkey server of one test's own, to freeze, fill and kill."""

import os
import shutil
import signal
import subprocess
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Self

import redis
from redis.backoff import ConstantBackoff
from redis.retry import Retry

from coaching.embedded.binaries import valkey_programs

PATIENCE_S = 20


class OwnValkey:
    """A server on a socket in a folder of its own."""

    def __enter__(self) -> Self:
        # Not pytest's folder: the name of a socket must be short.
        self._folder = Path(tempfile.mkdtemp(prefix="valkey-"))
        self.url = f"unix://{self._folder / 'socket'}"
        self.start()
        return self

    def __exit__(self, *_error: object) -> None:
        self.kill()
        shutil.rmtree(self._folder)

    def start(self) -> None:
        program = valkey_programs().folder / "valkey-server"
        options = ("--port", "0", "--unixsocket", str(self._folder / "socket"), "--save", "", "--appendonly", "no")
        self._process = subprocess.Popen([program, *options], stdout=subprocess.DEVNULL, cwd=self._folder)
        self.ask("PING")

    def ask(self, *command: str) -> object:
        """Give a command, waiting until the server is there."""
        retry = Retry(ConstantBackoff(0.02), int(PATIENCE_S / 0.02), (redis.ConnectionError,))
        with redis.Redis.from_url(self.url, retry=retry, decode_responses=True) as client:
            return client.execute_command(*command)

    def freeze(self) -> None:
        os.kill(self._process.pid, signal.SIGSTOP)

    def thaw(self) -> None:
        os.kill(self._process.pid, signal.SIGCONT)

    def kill(self) -> None:
        with suppress(ProcessLookupError):
            self._process.kill()
        self._process.wait(PATIENCE_S)
