"""Accounts of people, whatever businesses they are in."""

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from coaching.models.people import Person
from coaching.refusals import Fault, Invalid


def find_or_create_person(*, email: str, name: str, password: str | None) -> tuple[Person, bool]:
    """Return the account of an address, made if there is none; an existing one keeps its name and password.

    Raises:
        Invalid: the password of a new account can't be taken.
    """
    found = Person.objects.filter(email=email.strip().lower()).first()
    if found is not None:
        return found, False
    if password is not None:
        _check_password(password, Person(email=email, name=name))
    return Person.objects.create_person(email=email, name=name, password=password), True


def _check_password(password: str, person: Person) -> None:
    try:
        validate_password(password, user=person)
    except ValidationError as error:
        faults = [Fault("#/password", "password_too_weak", sentence) for sentence in error.messages]
        raise Invalid(faults[0].detail, faults=faults) from None
