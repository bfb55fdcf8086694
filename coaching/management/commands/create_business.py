"""Make a business and its first owner."""

import secrets
from typing import Any, Final

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coaching.actions.businesses import create_business
from coaching.models.businesses import Unit
from coaching.refusals import Refusal

GENERATED_BYTES: Final = 15


class Command(BaseCommand):
    """`manage.py create_business`."""

    help = "Make a business and its first owner; without --owner-password one is made up and printed once."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare what is asked."""
        parser.add_argument("--name", required=True)
        parser.add_argument("--time-zone", required=True, help="IANA name, such as Europe/Paris")
        parser.add_argument("--owner-email", required=True)
        parser.add_argument("--owner-name", required=True)
        parser.add_argument("--owner-password")
        parser.add_argument("--unit", choices=Unit.values, default=Unit.KG.value)

    def handle(self, *_args: Any, **options: Any) -> None:
        """Make them, and say how the owner signs in."""
        given = options["owner_password"]
        password = given or secrets.token_urlsafe(GENERATED_BYTES)
        try:
            created = create_business(
                name=options["name"],
                time_zone=options["time_zone"],
                owner_email=options["owner_email"],
                owner_name=options["owner_name"],
                owner_password=password,
                unit=options["unit"],
                now=timezone.now(),
            )
        except Refusal as refusal:
            raise CommandError(refusal.detail) from None
        self.stdout.write(f"Business {options['name']}: {created.business_id}")
        if not created.owner_is_new:
            self.stdout.write(f"{options['owner_email']} has an account already and signs in with its own password.")
        elif given is None:
            self.stdout.write(f"{options['owner_email']} signs in with this password, shown once: {password}")
