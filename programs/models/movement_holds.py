"""What a client is to leave out or not to raise for pain, as `logs` has found it."""

from django.db import models

from coaching.models import Client
from coaching.tenancy.models import BusinessScopedModel


class HoldAction(models.TextChoices):
    """How far a hold goes."""

    NO_INCREASE = "no_increase"
    STOP_MOVEMENT = "stop_movement"
    STOP_TRAINING = "stop_training"


class MovementHold(BusinessScopedModel):
    """One scope that a finding about a client holds; standing until it is released.

    `scope` is `all`, `exercise:<key>` or `region:<site>` with its side where one was said. `flag_id` names the
    finding in `logs`, of which nothing else is known here.
    """

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    flag_id = models.UUIDField()
    scope = models.CharField(max_length=80)
    action = models.CharField(max_length=13, choices=HoldAction)
    from_date = models.DateField()
    released_at = models.DateTimeField(null=True, blank=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "flag_id", "scope"], name="movement_hold_scope"),
        ]
        indexes = [
            # What holds a client now.
            models.Index(
                fields=["business", "client"],
                name="movement_hold_standing",
                condition=models.Q(released_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.action} {self.scope} from {self.from_date}"
