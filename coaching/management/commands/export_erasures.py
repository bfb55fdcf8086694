"""Write the ledger of erasures into a file, to keep apart from the backups."""

from pathlib import Path
from typing import Any

import orjson
from django.core.management.base import BaseCommand, CommandParser

from coaching.actions.erasure_replays import list_ledger
from coaching.selectors.erasures import list_businesses_with_ledgers


class Command(BaseCommand):
    """`manage.py export_erasures`."""

    help = "Write who was erased, by id, into a file for replay_erasures: keep it apart from the backups."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare what is asked."""
        parser.add_argument("file", type=Path)

    def handle(self, *_args: Any, **options: Any) -> None:
        """Write it, one erasure a line."""
        rows = list_ledger(business_ids=list_businesses_with_ledgers())
        file: Path = options["file"]
        file.write_bytes(b"".join(orjson.dumps(row) + b"\n" for row in rows))
        self.stdout.write(f"{len(rows)} erasures written.")
