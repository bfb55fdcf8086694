"""Compute every weekly row from its facts again."""

from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand
from django.utils import timezone

from coaching.selectors.due_work import list_active_business_ids
from logs.actions.weekly_progress import rebuild_weeks


class Command(BaseCommand):
    """Rebuilds weekly rows; those that already follow from their facts stay untouched."""

    help = "Compute every weekly row from its facts again, and tell how many were other than their facts."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take a business, or none for all."""
        parser.add_argument("--business", type=UUID, help="only this business's id")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Rebuild business by business."""
        now = timezone.now()
        wanted = [options["business"]] if options["business"] else list_active_business_ids(now)
        for business_id in wanted:
            weeks, changed = rebuild_weeks(business_id, now)
            self.stdout.write(f"{business_id}: {weeks} weeks, {changed} corrected")
