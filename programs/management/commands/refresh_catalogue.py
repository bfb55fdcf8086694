"""Bring each business's copy of the exercise catalogue up to date."""

from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand
from django.utils import timezone

from coaching.selectors.due_work import list_active_business_ids
from coaching.tenancy.scope import business_scope
from programs.actions.catalogue import refresh_catalogue


class Command(BaseCommand):
    """Adds new exercises and updates those that a business has not customised; safe to run again."""

    help = "Bring the exercise catalogue of each business, or of the one named, up to date."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the business to refresh; all active ones without it."""
        parser.add_argument("--business", type=UUID, help="id of the one business to refresh")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Refresh each business in its own scope."""
        chosen: UUID | None = options["business"]
        now = timezone.now()
        for business_id in [chosen] if chosen else list_active_business_ids(now):
            with business_scope(business_id):
                done = refresh_catalogue(business_id=business_id, now=now)
            self.stdout.write(f"{business_id}: {done.added} added, {done.updated} updated, {done.unchanged} unchanged")
