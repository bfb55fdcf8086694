"""Let somebody back in who lost both their authenticator app and their recovery codes."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coaching.actions.second_factors import reset_second_factor
from coaching.refusals import Refusal


class Command(BaseCommand):
    """`manage.py reset_second_factor`."""

    help = "Turn off the second factor of an account, once you have made sure who asks; all its sessions end."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare what is asked."""
        parser.add_argument("--email", required=True)

    def handle(self, *_args: Any, **options: Any) -> None:
        """Turn it off."""
        try:
            told = reset_second_factor(email=options["email"], now=timezone.now())
        except Refusal as refusal:
            raise CommandError(refusal.detail) from None
        self.stdout.write(f"Turned off; the trail of each of the account's businesses says so ({told}).")
