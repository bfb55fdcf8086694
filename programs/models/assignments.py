"""A version given to a client, and the sessions planned from it."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.models import Absence, Client, Membership, Place
from coaching.tenancy.models import BusinessScopedModel
from programs.models.programs import Variant, Version


class CalendarKind(models.TextChoices):
    """How planned sessions take their dates (`programs/prescription/calendar.py`)."""

    FIXED_DAYS = "fixed_days"
    ANY_DAYS_IN_WEEK = "any_days_in_week"
    IN_SEQUENCE = "in_sequence"


class AssignmentState(models.TextChoices):
    """Whether an assignment still plans sessions."""

    ACTIVE = "active"
    PAUSED = "paused"
    ENDED = "ended"


class PlannedState(models.TextChoices):
    """Where a planned session stands (`domain.md` 13)."""

    PLANNED = "planned"
    STARTED = "started"
    DONE = "done"
    PART_DONE = "part_done"
    DONE_LATE = "done_late"
    MISSED = "missed"
    EXCUSED = "excused"
    PAUSED = "paused"


class Assignment(BusinessScopedModel):
    """A variant given to a client from a date on."""

    client = models.ForeignKey(
        Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="assignments"
    )
    variant = models.ForeignKey(Variant, on_delete=models.PROTECT, db_constraint=False, related_name="+")
    calendar = models.CharField(max_length=16, choices=CalendarKind)
    weekdays = ArrayField(models.PositiveSmallIntegerField(), default=list)
    start_date = models.DateField()
    late_after_days = models.PositiveSmallIntegerField(null=True, blank=True)
    state = models.CharField(max_length=6, choices=AssignmentState, default=AssignmentState.ACTIVE)
    substitutions = models.JSONField(default=dict)
    # What was due before is a past that was brought in: nobody is told that it was missed. None is from the start.
    alerts_from = models.DateTimeField(null=True, blank=True)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "id"], name="assignment_business_id")]
        indexes = [
            # A client's assignments, newest last.
            models.Index(fields=["business", "client", "id"], name="assignment_client"),
        ]

    def __str__(self) -> str:
        return f"{self.variant_id} for {self.client_id} from {self.start_date}"


class AssignmentVersion(BusinessScopedModel):
    """The version that an assignment follows from a date on."""

    assignment = models.ForeignKey(
        Assignment, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="versions"
    )
    version = models.ForeignKey(Version, on_delete=models.PROTECT, db_constraint=False, related_name="+")
    from_date = models.DateField()

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "assignment", "from_date"], name="assignment_version_from"),
        ]

    def __str__(self) -> str:
        return f"{self.version_id} from {self.from_date}"


class AssignmentPause(BusinessScopedModel):
    """Days on which an assignment stands still; open until resumed."""

    assignment = models.ForeignKey(
        Assignment, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="pauses"
    )
    from_date = models.DateField()
    resumed_on = models.DateField(null=True, blank=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "assignment", "from_date"], name="assignment_pause_from"),
        ]

    def __str__(self) -> str:
        return f"from {self.from_date}"


class PlannedSession(BusinessScopedModel):
    """One session on a client's calendar.

    `prescribed` is the resolved snapshot that the client follows, each load with what it was resolved
    from. `slot_classes` lists the tempo class of each set by slot, and the `set_…` arrays what is
    asked of each, so that the weekly SQL needs no decoding. `due_at` is the instant from which an
    untouched session counts as missed; none while an earlier session of a sequence is still open.
    """

    assignment = models.ForeignKey(
        Assignment, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="sessions"
    )
    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    version = models.ForeignKey(
        Version, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    week_number = models.PositiveSmallIntegerField()
    day_number = models.PositiveSmallIntegerField()
    template_key = models.CharField(max_length=60)
    title = models.CharField(max_length=120)
    deload = models.BooleanField(default=False)
    local_date = models.DateField()
    window_start = models.DateField()
    window_end = models.DateField()
    zone = models.CharField(max_length=64)
    due_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=9, choices=PlannedState, default=PlannedState.PLANNED)
    excuse_reason = models.CharField(max_length=200, blank=True, default="")
    # The absence that excused it, so that removing the absence gives back exactly what it took.
    absence = models.ForeignKey(
        Absence,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    # The travel place that it is planned for; none is the client's usual one.
    place = models.ForeignKey(
        Place,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    # What this one session has otherwise than its version, as rules that survive a move of version; null is nothing.
    changes = models.JSONField(null=True, blank=True)
    changed_at = models.DateTimeField(null=True, blank=True)
    changed_by = models.ForeignKey(
        Membership,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    moved_from = models.DateField(null=True, blank=True)
    performed_on = models.DateField(null=True, blank=True)
    cut_reason = models.CharField(max_length=200, blank=True, default="")
    prescribed = models.JSONField()
    slot_classes = models.JSONField(default=dict)
    # What is asked of each set, as `programs/prescription/planned_sets.py` says.
    set_slots = ArrayField(models.CharField(max_length=20), default=list, db_default=[])
    set_figures = ArrayField(ArrayField(models.SmallIntegerField(null=True)), default=list, db_default=[])
    set_loads_kg = ArrayField(
        models.DecimalField(max_digits=14, decimal_places=8, null=True), default=list, db_default=[]
    )
    planned_reps = models.PositiveIntegerField(default=0, db_default=0)
    planned_work_sets = models.PositiveSmallIntegerField()
    planned_low_min = models.DecimalField(max_digits=5, decimal_places=1)
    planned_high_min = models.DecimalField(max_digits=5, decimal_places=1)
    done_work_sets = models.PositiveSmallIntegerField(null=True, blank=True)
    missed_at = models.DateTimeField(null=True, blank=True)
    row_version = models.PositiveIntegerField(default=1)

    # No column: whether the days on which it may be done are new in this transaction.
    days_changed = False

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="planned_session_business_id"),
            models.UniqueConstraint(
                fields=["business", "assignment", "week_number", "day_number"], name="planned_session_day"
            ),
        ]
        indexes = [
            # A client's calendar; the session that a log of a date belongs to.
            models.Index(fields=["business", "client", "local_date", "id"], name="planned_session_calendar"),
            # The calendar of many clients, by date.
            models.Index(fields=["business", "local_date", "id"], name="planned_session_date"),
            # What an absence took away, when it is removed.
            models.Index(
                fields=["business", "absence"],
                name="planned_session_absence",
                condition=models.Q(absence__isnull=False),
            ),
            # What is planned for a place, when the place changes.
            models.Index(
                fields=["business", "place"],
                name="planned_session_place",
                condition=models.Q(place__isnull=False),
            ),
            # The detector of missed sessions.
            models.Index(fields=["due_at"], name="planned_session_due", condition=models.Q(state="planned")),
        ]

    def __str__(self) -> str:
        return f"{self.title} on {self.local_date} ({self.state})"
