"""`manage.py benchmark`: every benchmark, and one table of ratios."""

from argparse import ArgumentParser
from importlib import import_module
from pkgutil import iter_modules
from typing import Any

from django.core.management.base import BaseCommand, CommandError


class Command(BaseCommand):
    """Measures ours against the baselines in `tests/benchmarks/`, in a database of its own."""

    help = "Run the benchmarks and print one table: path, ours, baseline, ratio, target, pass or short."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the names of the benchmarks to run; all without any."""
        parser.add_argument("names", nargs="*", help="modules of tests/benchmarks, such as log_batches")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Run them one after the other.

        Raises:
            CommandError: there are none of that name, or the tests are not installed here.
        """
        try:
            folder = import_module("tests.benchmarks")
        except ModuleNotFoundError:
            raise CommandError("The benchmarks are part of the tests: run this from a clone.") from None
        known = {
            name: module
            for name in sorted(found.name for found in iter_modules(folder.__path__))
            if hasattr(module := import_module(f"tests.benchmarks.{name}"), "measure")
        }
        names = options["names"] or list(known)
        unknown = [name for name in names if name not in known]
        if unknown:
            raise CommandError(f"There is no benchmark {unknown[0]!r}; there are {', '.join(known)}.")
        ratios = import_module("tests.benchmarks.ratios")
        with import_module("tests.benchmarks.database").scratch_database():
            results = [result for name in names for result in known[name].measure()]
        self.stdout.write(ratios.table(results))
