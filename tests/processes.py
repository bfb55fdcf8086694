"""Real processes of the service, on this test run's own database, broker and mail server."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.parse import quote

from django.db import connections

from tests.smtp_server import SmtpSink

ROOT = Path(__file__).resolve().parent.parent
PATIENCE_S = 60


def environment(smtp: SmtpSink) -> dict[str, str]:
    """What the processes must be told to work where the test looks."""
    return {
        **os.environ,
        "DATABASE_URL": url_of("default"),
        "DATABASE_OWNER_URL": url_of("owner"),
        "DJANGO_SETTINGS_MODULE": "coaching.config.settings",
        "EMAIL_URL": smtp.url,
    }


@contextmanager
def running(smtp: SmtpSink, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    """Run `python …` in a process group of its own, and kill what is left of it at the end."""
    process = subprocess.Popen([sys.executable, *arguments], cwd=ROOT, env=environment(smtp), start_new_session=True)
    try:
        yield process
    finally:
        kill(process)


def script(*lines: str) -> tuple[str, str]:
    """The arguments that run a few lines with Django set up."""
    return "-c", "\n".join(["import django", "django.setup()", *lines])


def worker() -> tuple[str, ...]:
    """The arguments of a worker with one child."""
    return (*_celery("worker"), "--concurrency=1", "--without-gossip", "--without-mingle")


def web(port: int) -> tuple[str, ...]:
    """The arguments of the web server, with one process of it."""
    gunicorn = ("-m", "gunicorn", "--config", "python:coaching.config.gunicorn", "coaching.config.wsgi:application")
    return (*gunicorn, "--bind", f"127.0.0.1:{port}", "--workers=1", "--no-control-socket")


def beat(folder: Path) -> tuple[str, ...]:
    """The arguments of the beat."""
    return (*_celery("beat"), f"--schedule={folder / 'beat'}", "--pidfile=")


def kill(process: subprocess.Popen[bytes]) -> None:
    """Kill a process and its children, as a power cut would."""
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait(PATIENCE_S)


def _celery(command: str) -> tuple[str, ...]:
    return "-m", "celery", "-A", "coaching.config.celery", command, "--loglevel=WARNING"


def url_of(alias: str) -> str:
    at = connections[alias].settings_dict
    password = f":{quote(at['PASSWORD'], safe='')}" if at["PASSWORD"] else ""
    port = f":{at['PORT']}" if at["PORT"] else ""
    return f"postgresql://{quote(at['USER'])}{password}@{quote(at['HOST'], safe='')}{port}/{at['NAME']}"


def free_port() -> int:
    """A port of loopback that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
