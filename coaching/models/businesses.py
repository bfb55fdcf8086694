"""A business: the tenant, and the policy that its owner may change."""

from datetime import time
from decimal import Decimal

from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.indexes import GinIndex
from django.db import models

from coaching.tenancy.models import new_id


class Unit(models.TextChoices):
    """The unit that loads are shown in."""

    KG = "kg"
    LB = "lb"


class BusinessState(models.TextChoices):
    """Whether jobs still run for a business."""

    ACTIVE = "active"
    CLOSED = "closed"


class SecondFactorRule(models.TextChoices):
    """Whose sessions need a second factor to do anything but set one up."""

    NONE = "none"
    STAFF = "staff"
    EVERYONE = "everyone"


class Business(models.Model):
    """A coaching business. Its own row is bound by row-level security on `id`."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    name = models.CharField(max_length=200)
    time_zone = models.CharField(max_length=64, default="UTC")
    unit = models.CharField(max_length=2, choices=Unit, default=Unit.KG)
    week_start = models.PositiveSmallIntegerField(default=0)
    default_session_min = models.PositiveSmallIntegerField(default=45)
    day_ends_at = models.TimeField(default=time(4))
    grace_h = models.PositiveSmallIntegerField(default=6)
    digest_at = models.TimeField(default=time(7))
    quiet_from = models.TimeField(default=time(21))
    quiet_until = models.TimeField(default=time(7))
    missed_escalation_sessions = models.PositiveSmallIntegerField(default=3)
    client_notes = models.BooleanField(default=False)
    part_done_below_ratio = models.DecimalField(max_digits=3, decimal_places=2, default=Decimal("0.75"))
    # Change of strength inside which a whole interval must lie to be a plateau.
    negligible_pct_per_week = models.DecimalField(max_digits=3, decimal_places=2, default=Decimal("0.5"))
    second_factor_required = models.CharField(
        max_length=8, choices=SecondFactorRule, default=SecondFactorRule.NONE, db_default=SecondFactorRule.NONE
    )
    state = models.CharField(max_length=8, choices=BusinessState, default=BusinessState.ACTIVE)
    # Pages of these origins may read the API's answers in a browser.
    allowed_origins = ArrayField(models.CharField(max_length=272), default=list, db_default=[], blank=True)
    # When what should exist was last looked over; none is never.
    reconciled_at = models.DateTimeField(null=True, blank=True)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        indexes = [GinIndex(fields=["allowed_origins"], name="business_allowed_origins")]

    def __str__(self) -> str:
        return self.name
