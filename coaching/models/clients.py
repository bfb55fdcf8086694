"""The people coached, where they are, and when they are away."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.models.businesses import Unit
from coaching.models.people import Membership
from coaching.tenancy.models import BusinessScopedModel


class ClientState(models.TextChoices):
    """Where a client stands with the business; `ended` never alerts."""

    LEAD = "lead"
    INTAKE = "intake"
    ACTIVE = "active"
    PAUSED = "paused"
    LEAVING = "leaving"
    ENDED = "ended"


class AbsenceKind(models.TextChoices):
    """Why a client is away."""

    ILL = "ill"
    HOLIDAY = "holiday"
    TRAVEL = "travel"
    OTHER = "other"


class AbsenceTreatment(models.TextChoices):
    """What becomes of the sessions planned inside an absence."""

    PAUSE = "pause"
    TRAVEL_KIT = "travel_kit"
    AS_PLANNED = "as_planned"


class Client(BusinessScopedModel):
    """A person coached. Has an account (`membership`) only once invited."""

    name = models.CharField(max_length=200)
    email = models.EmailField(blank=True, default="")
    birth_date = models.DateField(null=True, blank=True)
    coach = models.ForeignKey(
        Membership, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="clients"
    )
    membership = models.OneToOneField(
        Membership, on_delete=models.SET_NULL, null=True, db_constraint=False, related_name="client"
    )
    # Memberships of role `viewer` who may read this client: an array, since a list joins the client anyway.
    viewers = ArrayField(models.UUIDField(), default=list)
    time_zone = models.CharField(max_length=64)
    unit = models.CharField(max_length=2, choices=Unit)
    equipment = ArrayField(models.CharField(max_length=40), default=list)
    avoided_movements = ArrayField(models.CharField(max_length=60), default=list)
    max_complexity = models.PositiveSmallIntegerField(default=3)
    session_min = models.PositiveSmallIntegerField(null=True, blank=True)
    weekdays = ArrayField(models.PositiveSmallIntegerField(), default=list)
    max_hr_bpm = models.PositiveSmallIntegerField(null=True, blank=True)
    care_groups = ArrayField(models.CharField(max_length=40), default=list)
    missed_notes = models.BooleanField(default=False)
    training_since = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=ClientState, default=ClientState.ACTIVE)
    # Since when they are `ended`: how long their logs are kept counts from here.
    ended_at = models.DateTimeField(null=True, blank=True)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "id"], name="client_business_id")]
        indexes = [
            # The list of a coach's clients, and the list of all by name.
            models.Index(fields=["business", "coach", "id"], name="client_coach"),
            models.Index(fields=["business", "name", "id"], name="client_name"),
        ]

    def __str__(self) -> str:
        return self.name


class ClientZone(BusinessScopedModel):
    """The zone in force for a client from an instant on: a log's local date is taken in it."""

    client = models.ForeignKey(
        Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="zones"
    )
    from_instant = models.DateTimeField()
    zone = models.CharField(max_length=64)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "client", "from_instant"], name="client_zone_from"),
        ]

    def __str__(self) -> str:
        return f"{self.zone} from {self.from_instant:%Y-%m-%d %H:%M}"


class Absence(BusinessScopedModel):
    """Days that a client is away: left out of trends, alerts and flags."""

    client = models.ForeignKey(
        Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="absences"
    )
    starts_on = models.DateField()
    ends_on = models.DateField()
    kind = models.CharField(max_length=8, choices=AbsenceKind)
    treatment = models.CharField(max_length=10, choices=AbsenceTreatment, default=AbsenceTreatment.PAUSE)
    # Where the client trains meanwhile; with treatment `travel_kit` only.
    place = models.ForeignKey(
        "coaching.Place",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    note = models.CharField(max_length=500, blank=True, default="")
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="absence_business_id"),
            models.CheckConstraint(
                condition=models.Q(ends_on__gte=models.F("starts_on")), name="absence_ends_after_start"
            ),
        ]
        indexes = [
            # Whether a day of a client falls inside an absence.
            models.Index(fields=["business", "client", "starts_on", "ends_on"], name="absence_days"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.starts_on} to {self.ends_on}"
