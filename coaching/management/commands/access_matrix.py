"""`manage.py access_matrix`: every operation as every credential, expected by the policy and seen by calling."""

import logging
from argparse import ArgumentParser
from importlib import import_module
from typing import Any

from django.core.management.base import BaseCommand, CommandError


class Command(BaseCommand):
    """Calls the whole service in a database of its own and prints the matrix; fails on a difference."""

    help = "Print operations x credentials, expected by the table of roles and scopes and seen by really calling."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the form, and whether to call."""
        parser.add_argument("--csv", action="store_true", help="one line for each cell: expected, seen")
        parser.add_argument("--expected", action="store_true", help="what the table says, without calling anything")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Print the matrix.

        Raises:
            CommandError: something was answered otherwise than expected, or the tests are not installed here.
        """
        try:
            access = import_module("tests.architecture.access")
        except ModuleNotFoundError:
            raise CommandError("The matrix is part of the tests: run this from a clone.") from None
        report = import_module("tests.architecture.access_report")
        exceptions = import_module("tests.architecture.access_exceptions").EXCEPTIONS
        called = not options["expected"]
        # Thousands of refusals would each be told.
        logging.disable(logging.CRITICAL)
        try:
            with import_module("tests.benchmarks.database").scratch_database():
                cells = access.drive(exceptions, calling=called)
        finally:
            logging.disable(logging.NOTSET)
        written = (
            report.as_csv(cells, called=called) if options["csv"] else report.table(cells, exceptions, called=called)
        )
        self.stdout.write(written)
        faults = access.faults(cells)
        if faults:
            raise CommandError("\n".join(faults))
