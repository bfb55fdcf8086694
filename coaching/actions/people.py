"""Accounts of people, whatever businesses they are in."""

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from coaching.models.people import Person
from coaching.refusals import Fault, Invalid


def find_or_create_person(
    *, email: str, name: str, password: str | None, is_provisional: bool = False
) -> tuple[Person, bool]:
    """Return the account of an address, made if there is none; an existing one keeps its name and password.

    Args:
        email: the address.
        name: the name of a new account.
        password: the first password of a new account; without one nobody signs in to it yet.
        is_provisional: somebody else thought the password up; a link sent to the address asks for another.

    Raises:
        Invalid: the password of a new account can't be taken.
    """
    found = Person.objects.filter(email=email.strip().lower()).first()
    if found is not None:
        return found, False
    if password is not None:
        check_password_rules(password, Person(email=email, name=name))
    made = Person.objects.create_person(email=email, name=name, password=password)
    if is_provisional:
        made.password_is_provisional = True
        made.save(update_fields=["password_is_provisional"])
    return made, True


def check_password_rules(password: str, person: Person, *, pointer: str = "#/password") -> None:
    """Check a password for its length, against common ones, and against the person's own address and name.

    Raises:
        Invalid: with each rule that it breaks.
    """
    try:
        validate_password(password, user=person)
    except ValidationError as error:
        faults = [Fault(pointer, "password_too_weak", sentence) for sentence in error.messages]
        raise Invalid(faults[0].detail, faults=faults) from None
