"""Say where texts stand in the database: the proof after an erasure."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from coaching.selectors.database_search import find_in_database


class Command(BaseCommand):
    """`manage.py find_in_database`."""

    help = (
        "Search every column of every table for texts, such as a name, an address or an unusual number, whatever "
        "their case. Prints where and how often, never what stands there; fails where anything is found."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare what is asked."""
        parser.add_argument("texts", nargs="+", metavar="TEXT")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Search, and print the counts."""
        texts: list[str] = options["texts"]
        found = find_in_database(texts)
        for one in found:
            self.stdout.write(f"text {one.text + 1}: {one.table}.{one.column}: {one.rows}")
        if found:
            raise CommandError(f"Found in {len(found)} columns.", returncode=1)
        self.stdout.write(f"{len(texts)} texts: found nowhere.")
