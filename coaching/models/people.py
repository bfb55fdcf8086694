"""People who sign in, and what each is in a business."""

from datetime import datetime
from typing import ClassVar
from uuid import UUID

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone
from knox.models import AbstractAuthToken

from coaching.tenancy.models import BusinessScopedModel, new_id


class Role(models.TextChoices):
    """What a person may do in a business (`coaching/policy.py`)."""

    OWNER = "owner"
    HEAD_COACH = "head_coach"
    COACH = "coach"
    VIEWER = "viewer"
    CLIENT = "client"


class MembershipState(models.TextChoices):
    """Whether a membership still lets its person in."""

    ACTIVE = "active"
    LEFT = "left"


class People(BaseUserManager["Person"]):
    """Makes people with a normalised address and a hashed password."""

    def create_person(self, *, email: str, name: str, password: str | None) -> "Person":
        """Create a person; without a password they can't sign in until they set one."""
        person = Person(email=email.strip().lower(), name=name)
        person.set_password(password)
        person.save(using=self._db)
        return person


class Person(AbstractBaseUser):  # type: ignore[django-manager-missing]  # the library's reverse name
    """An account: one person, in any number of businesses. Outside row-level security."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=200)
    is_active = models.BooleanField(default=True)
    # First set by whoever put them on a team: until a link sent to the address has set another, nobody has proved that
    # the address is theirs.
    password_is_provisional = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    objects: ClassVar[People] = People()

    def __str__(self) -> str:
        return self.email


class Membership(BusinessScopedModel):
    """A person's place in a business. Its `time_zone` sets the morning of a coach's digest."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    role = models.CharField(max_length=10, choices=Role)
    time_zone = models.CharField(max_length=64)
    state = models.CharField(max_length=6, choices=MembershipState, default=MembershipState.ACTIVE)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="membership_business_id"),
            models.UniqueConstraint(fields=["business", "person"], name="membership_person"),
        ]

    def __str__(self) -> str:
        return f"{self.person_id} as {self.role}"


class SessionToken(AbstractAuthToken):  # type: ignore[misc]  # the library has no hints
    """A signed-in membership. Outside row-level security: it is read before any business is known.

    `session_id` is what it is listed and counted by; a rotation exchanges the digest and keeps the row.
    """

    session_id: "models.UUIDField[UUID, UUID]" = models.UUIDField(default=new_id, unique=True, editable=False)
    business_id: "models.UUIDField[UUID, UUID]" = models.UUIDField()
    membership_id: "models.UUIDField[UUID, UUID]" = models.UUIDField()
    # To within ten minutes: a write for each request would cost more than it tells.
    last_used_at: "models.DateTimeField[datetime, datetime]" = models.DateTimeField(default=timezone.now)
    address: "models.GenericIPAddressField[str | None, str | None]" = models.GenericIPAddressField(
        null=True, blank=True
    )

    class Meta:
        verbose_name = "session token"

    def __str__(self) -> str:
        return str(self.token_key)
