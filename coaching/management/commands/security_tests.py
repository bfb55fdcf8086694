"""`manage.py security_tests`: the OWASP API risks and the ASVS items, each with the tests that stand behind it."""

from argparse import ArgumentParser
from importlib import import_module
from typing import Any

from django.core.management.base import BaseCommand, CommandError


class Command(BaseCommand):
    """Runs the attacks and prints two tables; fails when a test does, or when an item has neither test nor reason."""

    help = "Print the OWASP API Security Top 10 (2023) and the ASVS 5.0 items with their tests, run, pass or FAIL."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take whether to run, and how much."""
        parser.add_argument("--list", action="store_true", help="print the tables without running anything")
        parser.add_argument(
            "--every-case",
            action="store_true",
            help="every case that the schema gives, not a sample: some minutes more",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Print the tables.

        Raises:
            CommandError: a test failed, an item has neither test nor reason, or the tests are not installed here.
        """
        try:
            report = import_module("tests.security.report")
        except ModuleNotFoundError:
            raise CommandError("The attacks are part of the tests: run this from a clone.") from None
        outcomes = None if options["list"] else report.run(every_case=options["every_case"])
        self.stdout.write(report.table(outcomes))
        faults = report.faults(outcomes)
        if faults:
            raise CommandError("\n".join(faults))
