"""How long clients take beside what is planned, as `logs` has found it."""

from django.db import models

from coaching.models import Client
from coaching.tenancy.models import BusinessScopedModel


class SessionPace(BusinessScopedModel):
    """A client's median of performed to planned minutes, with how many sessions it is of.

    `ratio` is null while there are too few; a client without any has no row. Only what the sessions give is kept, so
    that a rebuild leaves the same rows.
    """

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    ratio = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    sessions = models.PositiveSmallIntegerField()
    last_on = models.DateField()

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "client"], name="session_pace_client")]

    def __str__(self) -> str:
        return f"{self.ratio} of {self.sessions} sessions, until {self.last_on}"
