"""What was done: sessions, sets and check-ins as apps posted them, and what corrections replaced."""

from typing import Final

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.models import CheckInForm, Client
from coaching.tenancy.models import BusinessScopedModel
from programs.models import Exercise, PlannedSession

HELD_DAYS: Final = 30
"""How long a set waits for its session. Practice."""


class Log(BusinessScopedModel):
    """What every log has: whose it is, where it came from, and which state of it this is.

    Identity is `(business, client, source, external_id)` within its table. A correction updates the row
    in place and raises `row_version`; `LogRevision` keeps what it was. A deleted log keeps its identity
    and nothing else, so that a late repost can be told from a new log.
    """

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    source = models.CharField(max_length=60)
    external_id = models.CharField(max_length=120)
    revision = models.IntegerField(default=0)
    row_version = models.PositiveIntegerField(default=1)
    content_hash = models.BinaryField(max_length=16)
    local_date = models.DateField()
    received_at = models.DateTimeField()
    deleted_at = models.DateTimeField(null=True, blank=True)

    class Meta(BusinessScopedModel.Meta):
        abstract = True


class SessionLog(Log):
    """A session performed; none or several belong to one planned session, none is an extra."""

    planned_session = models.ForeignKey(
        PlannedSession,
        on_delete=models.SET_NULL,
        null=True,
        db_constraint=False,
        db_index=False,
        related_name="logs",
    )
    # Whether the item itself named the planned session, or the date matched it.
    planned_session_named = models.BooleanField(default=False)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    duration_min = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    session_rpe = models.DecimalField(max_digits=3, decimal_places=1, null=True, blank=True)
    cut_reason = models.CharField(max_length=200, blank=True, default="")
    symptoms = ArrayField(models.CharField(max_length=40), default=list)
    notes = models.TextField(blank=True, default="")
    # No key to the place: what was lifted there stays apart when the place is no longer written down.
    place_id = models.UUIDField(null=True, blank=True)
    # Somebody said that minutes which look too long are right.
    minutes_confirmed = models.BooleanField(default=False, db_default=False)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="session_log_business_id"),
            models.UniqueConstraint(
                fields=["business", "client", "source", "external_id"], name="session_log_identity"
            ),
        ]
        indexes = [
            # A client's logs of a week.
            models.Index(fields=["business", "client", "local_date", "id"], name="session_log_date"),
            # The logs of a planned session.
            models.Index(
                fields=["business", "planned_session"],
                name="session_log_planned",
                condition=models.Q(planned_session__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"session {self.external_id} of {self.local_date}"


class SetLog(Log):
    """A set performed. Its load is kept as entered and in kg, in `load_basis`.

    `tempo_class` is the class that the app itself said; where it said none, the planned slot's holds.
    `segments` are the parts of a cluster or drop set.
    """

    session_log = models.ForeignKey(
        SessionLog, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="sets"
    )
    exercise = models.ForeignKey(
        Exercise, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    slot_key = models.CharField(max_length=20, blank=True, default="")
    set_number = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=10)
    side = models.CharField(max_length=5)
    reps = models.PositiveSmallIntegerField(null=True, blank=True)
    duration_s = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    distance_m = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    calories_kcal = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    rounds = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    segments = models.JSONField(null=True, blank=True)
    load = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    unit = models.CharField(max_length=2, blank=True, default="")
    load_kg = models.DecimalField(max_digits=14, decimal_places=8, null=True, blank=True)
    load_basis = models.CharField(max_length=11)
    machine = models.CharField(max_length=60, blank=True, default="")
    rpe = models.DecimalField(max_digits=3, decimal_places=1, null=True, blank=True)
    in_reserve = models.DecimalField(max_digits=3, decimal_places=1, null=True, blank=True)
    tempo = models.CharField(max_length=16, blank=True, default="")
    tempo_class = models.CharField(max_length=12, blank=True, default="")
    phase_s = models.JSONField(null=True, blank=True)
    phase_source = models.CharField(max_length=10, blank=True, default="")
    outcome = models.CharField(max_length=7, default="done")
    symptoms = ArrayField(models.CharField(max_length=40), default=list)
    swapped = models.JSONField(null=True, blank=True)
    notes = models.TextField(blank=True, default="")

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "client", "source", "external_id"], name="set_log_identity"),
        ]
        indexes = [
            # A client's sets of a week: the weekly refresh.
            models.Index(fields=["business", "client", "local_date", "id"], name="set_log_date"),
            # The sets of a session.
            models.Index(fields=["business", "session_log", "set_number"], name="set_log_session"),
            # The few sets with red-flag symptoms.
            models.Index(
                fields=["business", "client", "local_date"],
                name="set_log_symptoms",
                condition=~models.Q(symptoms=[]),
            ),
        ]

    def __str__(self) -> str:
        return f"set {self.external_id} of {self.local_date}"


class CheckIn(Log):
    """How a person says they are. The four items run 1 to 7 and higher is worse."""

    sleep = models.PositiveSmallIntegerField(null=True, blank=True)
    fatigue = models.PositiveSmallIntegerField(null=True, blank=True)
    stress = models.PositiveSmallIntegerField(null=True, blank=True)
    soreness = models.PositiveSmallIntegerField(null=True, blank=True)
    symptoms = ArrayField(models.CharField(max_length=40), default=list)
    pains = models.JSONField(default=list)
    bodyweight = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    unit = models.CharField(max_length=2, blank=True, default="")
    bodyweight_kg = models.DecimalField(max_digits=14, decimal_places=8, null=True, blank=True)
    resting_hr_bpm = models.PositiveSmallIntegerField(null=True, blank=True)
    hrv_rmssd_ms = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    # The migration binds form and version together to the list of questions that was answered.
    form = models.ForeignKey(
        CheckInForm,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    form_version = models.PositiveIntegerField(null=True, blank=True)
    answers = models.JSONField(default=dict)
    notes = models.TextField(blank=True, default="")

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="check_in_business_id"),
            models.UniqueConstraint(fields=["business", "client", "source", "external_id"], name="check_in_identity"),
        ]
        indexes = [
            # A client's check-ins of a week.
            models.Index(fields=["business", "client", "local_date", "id"], name="check_in_date"),
        ]

    def __str__(self) -> str:
        return f"check-in {self.external_id} of {self.local_date}"


class LogKind(models.TextChoices):
    """Which table a log is in."""

    SESSION_LOG = "session_log"
    SET_LOG = "set_log"
    CHECK_IN = "check_in"


class LogRevision(BusinessScopedModel):
    """An earlier state of a log, written in the statement that replaced it."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    kind = models.CharField(max_length=11, choices=LogKind)
    log_id = models.UUIDField()
    row_version = models.PositiveIntegerField()
    revision = models.IntegerField()
    content_hash = models.BinaryField(max_length=16)
    content = models.JSONField()
    replaced_at = models.DateTimeField()
    # The membership or the API key that sent what replaced it; by id alone, since it may be gone.
    replaced_by = models.UUIDField(null=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "log_id", "row_version"], name="log_revision_version"),
        ]
        indexes = [
            # A client's, for what is exported and what is erased.
            models.Index(fields=["business", "client"], name="log_revision_client"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.log_id} v{self.row_version}"


class HeldItem(BusinessScopedModel):
    """A set that waits for a session, kept 30 days and listed, never lost in silence.

    `item` holds its fields as last sent, and what each arrival would have written.
    """

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    source = models.CharField(max_length=60)
    external_id = models.CharField(max_length=120)
    session_external_id = models.CharField(max_length=120)
    item = models.JSONField()
    received_at = models.DateTimeField()
    expires_at = models.DateTimeField()

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            # By session first: what an arriving session releases.
            models.UniqueConstraint(
                fields=["business", "client", "source", "session_external_id", "external_id"],
                name="held_item_identity",
            ),
        ]
        indexes = [
            # Newest first.
            models.Index(fields=["business", "received_at", "id"], name="held_item_received"),
        ]

    def __str__(self) -> str:
        return f"{self.external_id} waits for {self.session_external_id}"


class LogBatch(BusinessScopedModel):
    """A batch received: its counts and what was refused or held, for the sender to look up."""

    source = models.CharField(max_length=60)
    credential_id = models.UUIDField()
    received_at = models.DateTimeField()
    counts = models.JSONField()
    problems = models.JSONField(default=list)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "id"], name="log_batch_business_id")]
        indexes = [
            # Newest first.
            models.Index(fields=["business", "received_at", "id"], name="log_batch_received"),
        ]

    def __str__(self) -> str:
        return f"{self.source} at {self.received_at:%Y-%m-%d %H:%M}"
