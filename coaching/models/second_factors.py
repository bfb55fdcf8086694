"""The second factor of an account. Outside row-level security: an account is in any number of businesses."""

from django.db import models

from coaching.models.people import Person
from coaching.tenancy.models import new_id


class SecondFactor(models.Model):
    """What an account and its authenticator app share; it stands once a first code has confirmed it.

    The secret is sealed (`coaching/sealed_secrets.py`): whoever has the database alone can't read it.
    """

    person = models.OneToOneField(Person, on_delete=models.CASCADE, primary_key=True, related_name="+")
    sealed_secret = models.TextField()
    started_at = models.DateTimeField()
    confirmed_at = models.DateTimeField(null=True, blank=True)
    # The time step of the code accepted last: it and earlier ones are not taken again.
    last_step = models.BigIntegerField(null=True, blank=True)

    def __str__(self) -> str:
        return f"second factor of {self.person_id}"


class RecoveryCode(models.Model):
    """A code that stands in for the app once: only its digest is kept, and the row goes when it is used."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, db_index=False, related_name="+")
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "digest"], name="recovery_code_digest")]

    def __str__(self) -> str:
        return f"recovery code of {self.person_id}"
