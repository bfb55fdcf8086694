"""V6 Authentication."""

import re
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from coaching.models import Person
from tests.processes import ROOT
from tests.scenario import Cast, signed_in

GOOD = "correct horse battery"


def _owner(cast: Cast, password: str = GOOD) -> Person:
    person: Person = cast.owner.person
    person.set_password(password)
    person.save()
    return person


def _sign_in(email: str, password: str) -> Any:
    return signed_in("x").post("/api/v1/sessions", {"email": email, "password": password}, format="json")


def _change(cast: Cast, current: str, new: str) -> Any:
    return cast.api(cast.owner).post("/api/v1/me/password", {"current": current, "new": new}, format="json")


def test_how_guessing_is_slowed_down_is_written_beside_the_numbers() -> None:
    """6.1.1 The limits on guessing, why they lock no owner out, and where they are set stand in one module."""
    text = (ROOT / "coaching/actions/sign_in_attempts.py").read_text()
    for name in ("PER_ACCOUNT_AND_ADDRESS", "PER_ADDRESS", "PER_ACCOUNT", "KNOWN_FOR"):
        assert f"{name}: Final" in text
    assert "lock its owner out" in text


ONE_KIND = ("onlylettersofonekind" * 7)[:128]
TWELVE_FACES = "".join(chr(0x1F600 + 3 * number) for number in range(12))


@pytest.mark.parametrize("password", ["short", "elevenchars"])
def test_a_short_password_is_refused(password: str, cast: Cast) -> None:
    """6.2.1 Twelve characters at least."""
    _owner(cast)
    answer = _change(cast, GOOD, password)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/new")


def test_a_password_is_changed_with_the_present_one(cast: Cast) -> None:
    """6.2.2, 6.2.3 People change their own, and must know the one they have."""
    person = _owner(cast)
    assert _change(cast, "not the password", "another fine phrase").status_code == 400
    assert _sign_in(person.email, GOOD).status_code == 201
    assert _change(cast, GOOD, "another fine phrase").status_code == 204
    assert _sign_in(person.email, GOOD).status_code == 401
    assert _sign_in(person.email, "another fine phrase").status_code == 201


@pytest.mark.parametrize("password", ["qwerty123456", "123456654321", "1q2w3e4r5t6y", "QWERTY123456"])
def test_a_password_that_everybody_uses_is_refused(password: str) -> None:
    """6.2.4 Against the list that Django keeps, in part: of its 20,000 common ones 187 are twelve characters long."""
    with pytest.raises(ValidationError) as refused:
        validate_password(password)
    assert "password_too_common" in {found.code for found in refused.value.error_list}


@pytest.mark.parametrize(
    "password",
    ["aaaabbbbccccd", ONE_KIND, TWELVE_FACES, "пароль из слов", " a phrase with edges "],
)
def test_any_composition_and_length_will_do_and_is_kept_exactly(password: str, cast: Cast) -> None:
    """6.2.5, 6.2.8, 6.2.9 No rule on kinds of characters, nothing cut or folded, 64 characters and more."""
    person = _owner(cast)
    assert _change(cast, GOOD, password).status_code == 204
    assert _sign_in(person.email, password).status_code == 201
    for other in (password[:-1], password.upper(), password.strip(), password[:72]):
        if other != password:
            assert _sign_in(person.email, other).status_code in {401, 429}


def test_no_password_grows_old() -> None:
    """6.2.10 There is no rule that asks for a new one by its age."""
    assert not {field.name for field in Person._meta.get_fields()} & {"password_expires_at", "password_changed_at"}
    validators: Any = settings.AUTH_PASSWORD_VALIDATORS
    named = [validator["NAME"].rpartition(".")[2] for validator in validators]
    assert not [name for name in named if "Expir" in name or "Age" in name or "Numeric" in name]


def test_a_password_like_ones_own_name_is_refused(cast: Cast) -> None:
    """6.2.11 Words of the account itself are no password."""
    person = _owner(cast)
    for password in (person.email, f"{person.email.partition('@')[0]}@northern-iron"):
        assert _change(cast, GOOD, password).status_code == 400, password


def test_forms_mask_passwords_and_let_managers_fill_them() -> None:
    """6.2.6, 6.2.7 The two pages that take one use type=password, with autocomplete, and hinder no paste."""
    pages = (ROOT / "coaching/templates/coaching/account").rglob("*.html")
    inputs = [field for page in pages for field in re.findall(r"<input\b[^>]*>", page.read_text(), re.DOTALL)]
    fields = [field for field in inputs if re.search(r'name="[^"]*password', field)]
    assert fields
    for field in fields:
        assert 'type="password"' in field, field
        assert 'autocomplete="off"' not in field
        assert "onpaste" not in field
        assert "new-password" in field or "current-password" in field, field
