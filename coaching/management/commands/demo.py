"""Start the service on the embedded servers and play the main job through its public API."""

import io
import signal
import sys
import threading
from argparse import ArgumentParser
from email.utils import parseaddr
from typing import Any, Final

import httpx
import redis
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connections
from django.utils import timezone
from rich.console import Console

from coaching.demo.mailbox import Mailbox
from coaching.demo.outcome import wait_until_settled
from coaching.demo.people import BUSINESS, COACHES, PASSWORD
from coaching.demo.play import play, played_before, recall, sign_in
from coaching.demo.processes import ROOT, DemoError, Processes
from coaching.demo.tables import print_access, print_outcome
from coaching.embedded import DATABASE, RunningServers, fresh_database
from coaching.embedded.environment import held_servers

WIDTH: Final = 100


class Command(BaseCommand):
    """`manage.py demo`."""

    help = "Start everything, play twelve weeks of a coaching business through the API, and show what was found."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the options."""
        parser.add_argument("--once", action="store_true", help="stop everything after the job and exit")
        parser.add_argument("--port", type=int, default=8000, help="the web server's port on loopback (8000)")
        parser.add_argument("--fresh", action="store_true", help="throw the demo's data away and begin anew")
        parser.add_argument("--keep", action="store_true", help="leave the database servers running at the end")

    def handle(self, *_args: Any, once: bool, port: int, fresh: bool, keep: bool, **_options: Any) -> None:
        """Run the demo."""
        servers = held_servers()
        if servers is None:
            raise CommandError(
                "The demo plays on the embedded servers alone: unset DATABASE_URL, so that it can't touch your data."
            )
        # Named here, since a shell that starts it in the background has it ignore Ctrl-C's signal.
        signal.signal(signal.SIGTERM, _unwind)
        signal.signal(signal.SIGINT, _unwind)
        # A file or a pipe has no width of its own.
        console = Console(width=None if sys.stdout.isatty() else WIDTH)
        try:
            _Run(console, servers, port).go(once=once, fresh=fresh)
        except KeyboardInterrupt:
            console.print("\nStopping.")
        except DemoError as error:
            raise CommandError(str(error)) from error
        finally:
            if keep:
                console.print(f"The database servers go on: {servers.service_url}")
                servers.leave_running()


def _unwind(*_signal: object) -> None:
    """End politely, once."""
    # A terminal's Ctrl-C comes twice, from it and through `uv`: the second must not cut short the stopping.
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    raise KeyboardInterrupt


class _Run:
    """One run of the demo."""

    def __init__(self, console: Console, servers: RunningServers, port: int) -> None:
        self._console = console
        self._servers = servers
        self._port = port
        self._address = f"http://127.0.0.1:{port}"

    def go(self, *, once: bool, fresh: bool) -> None:
        """Start all, play, show; then wait for Ctrl-C unless `once`."""
        if fresh:
            self._empty()
        self._migrate()
        mailbox = Mailbox()
        environment = {
            "EMAIL_URL": mailbox.start(),
            "PUBLIC_URL": self._address,
            "SECRET_KEY": settings.SECRET_KEY,
            "LOG_LEVEL": "INFO",
        }
        try:
            with Processes(ROOT / ".counterpoise" / "demo", environment) as processes:
                self._play(processes, mailbox, once=once)
        finally:
            mailbox.stop()

    def _play(self, processes: Processes, mailbox: Mailbox, *, once: bool) -> None:
        self._say("Starting the web server")
        processes.start_web(self._port)
        with httpx.Client(base_url=self._address, timeout=60) as http:
            now = timezone.now()
            before = played_before(http, now)
            if before is False:
                self._say("The scenario there is of another day or version: beginning anew")
                processes.stop()
                self._empty()
                self._migrate()
                processes.start_web(self._port)
            if before:
                self._say("Today's scenario is there already")
                played = recall(http)
            else:
                self._found()
                played = play(http, now=now, say=self._say)
            self._say("Starting the worker and beat: weeks, flags, alerts")
            processes.start_worker()
            processes.start_beat()
            owner = sign_in(http, COACHES[0].email)
            outcome = wait_until_settled(
                owner,
                played,
                mailed=lambda: {parseaddr(str(message["To"]))[1] for message in mailbox.messages},
                check=processes.check,
                now=now,
                mail_awaited=not before,
            )
        print_outcome(self._console, played, outcome, mailbox.messages)
        print_access(self._console, self._address, played)
        if outcome.differences():
            raise DemoError("The demo's outcome is not the scenario's truth.")
        if not once:
            self._console.print("Running until Ctrl-C.")
            while not threading.Event().wait(1):
                processes.check()

    def _found(self) -> None:
        owner = COACHES[0]
        self._say(f"Making the business {BUSINESS}")
        call_command(
            "create_business",
            name=BUSINESS,
            time_zone=owner.zone,
            owner_email=owner.email,
            owner_name=owner.name,
            owner_password=PASSWORD,
            verbosity=0,
            skip_checks=True,
            stdout=io.StringIO(),
        )

    def _empty(self) -> None:
        connections.close_all()
        fresh_database(self._servers.admin_url, DATABASE)
        with redis.from_url(self._servers.redis_url) as client:
            client.flushall()

    def _migrate(self) -> None:
        self._say("Bringing the tables up to date")
        call_command("migrate", database="owner", verbosity=0, skip_checks=True)
        connections.close_all()

    def _say(self, sentence: str) -> None:
        self._console.print(f"[dim]{timezone.now():%H:%M:%S}[/dim] {sentence}")
