"""Erase again whom a restored backup brought back."""

from pathlib import Path
from typing import Any
from uuid import UUID

import orjson
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from coaching.actions.erasure_replays import LedgerRow, list_ledger, replay_erasures
from coaching.selectors.erasures import list_businesses_with_ledgers


class Command(BaseCommand):
    """`manage.py replay_erasures`."""

    help = (
        "After a backup was restored: erase again whoever the ledger names, or a ledger file written by "
        "export_erasures after that backup was made. Safe to run again."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare what is asked."""
        parser.add_argument("--ledger", type=Path, help="a file of export_erasures; the database's own without it")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Erase them, and say how many were there."""
        now = timezone.now()
        file: Path | None = options["ledger"]
        rows = list_ledger(business_ids=list_businesses_with_ledgers()) if file is None else _read(file)
        found = replay_erasures(rows=rows, now=now)
        self.stdout.write(f"{len(rows)} erasures in the ledger; {found} people were there again, and are erased.")


def _read(file: Path) -> list[LedgerRow]:
    try:
        return [_row(orjson.loads(line)) for line in file.read_bytes().splitlines() if line.strip()]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise CommandError(f"{file} is no ledger of export_erasures: {error}") from None


def _row(kept: dict[str, Any]) -> LedgerRow:
    erased_at = parse_datetime(kept["erased_at"])
    if erased_at is None:
        raise ValueError("erased_at is no instant")
    return LedgerRow(
        business_id=UUID(kept["business_id"]),
        client_id=UUID(kept["client_id"]),
        erased_at=erased_at,
        erased_by=_id(kept["erased_by"]),
        coach_id=_id(kept["coach_id"]),
        key_ids=tuple(UUID(one) for one in kept["key_ids"]),
        counts=dict(kept["counts"]),
    )


def _id(text: str | None) -> UUID | None:
    return None if text is None else UUID(text)
