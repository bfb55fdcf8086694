"""One-time codes: which are taken, and what of them is kept."""

from datetime import timedelta
from urllib.parse import parse_qs, urlsplit
from uuid import uuid4

import pytest

from coaching.one_time_codes import (
    DRIFT_STEPS,
    RECOVERY_CODES,
    SECRET_BYTES,
    code_of_step,
    enrolment_uri,
    looks_like_app_code,
    matching_step,
    new_recovery_codes,
    new_secret,
    recovery_digest,
    shown_secret,
    step_at,
)
from tests.scenario import NOON

SECRET = b"12345678901234567890"
NOW = step_at(NOON)


@pytest.mark.parametrize("drift", range(-3, 4))
def test_a_code_one_step_early_or_late_is_taken_and_none_further_off(drift: int) -> None:
    code = code_of_step(SECRET, NOW + drift)
    expected = NOW + drift if abs(drift) <= DRIFT_STEPS else None
    assert matching_step(SECRET, code, now=NOON, after=None) == expected


def test_a_step_is_taken_once_and_no_earlier_one_after_it() -> None:
    codes = {step: code_of_step(SECRET, step) for step in (NOW - 1, NOW, NOW + 1)}
    taken = {step: matching_step(SECRET, code, now=NOON, after=NOW) for step, code in codes.items()}
    assert taken == {NOW - 1: None, NOW: None, NOW + 1: NOW + 1}


def test_a_code_lives_for_three_steps_by_the_clock() -> None:
    code = code_of_step(SECRET, NOW)
    start = NOON - timedelta(seconds=NOON.timestamp() % 30)
    seen = {s: matching_step(SECRET, code, now=start + timedelta(seconds=s), after=None) for s in (-31, -30, 59, 60)}
    assert seen == {-31: None, -30: NOW, 59: NOW, 60: None}


@pytest.mark.parametrize("typed", ["{0} {1}", " {0}{1} ", "{0}-{1}"])
def test_spaces_between_the_digits_make_no_difference(typed: str) -> None:
    code = code_of_step(SECRET, NOW)
    assert matching_step(SECRET, typed.format(code[:3], code[3:]), now=NOON, after=None) == NOW
    assert looks_like_app_code(typed.format(code[:3], code[3:]))


@pytest.mark.parametrize("typed", ["", "12345", "1234567", "12345a", "abcd-efgh", "\uff11" * 6, "-12345"])
def test_what_is_not_six_digits_is_no_code_of_an_app(typed: str) -> None:
    assert not looks_like_app_code(typed)
    assert matching_step(SECRET, typed, now=NOON, after=None) is None


def test_secrets_are_long_random_and_read_by_an_app() -> None:
    secret = new_secret()
    assert (len(secret), secret == new_secret()) == (SECRET_BYTES, False)
    address = urlsplit(enrolment_uri(secret, "cora+gym@northern-iron.example"))
    assert (address.scheme, address.netloc) == ("otpauth", "totp")
    assert address.path == "/Counterpoise:cora%2Bgym%40northern-iron.example"
    assert parse_qs(address.query) == {
        "secret": [shown_secret(secret)],
        "issuer": ["Counterpoise"],
        "algorithm": ["SHA1"],
        "digits": ["6"],
        "period": ["30"],
    }


def test_recovery_codes_are_ten_and_their_digests_are_of_one_person() -> None:
    codes, anna, ben = new_recovery_codes(), uuid4(), uuid4()
    assert len(set(codes)) == RECOVERY_CODES
    assert {len(code.replace("-", "")) for code in codes} == {24}
    assert not any(looks_like_app_code(code) for code in codes)
    typed = codes[0].upper().replace("-", " ")
    assert recovery_digest(anna, typed) == recovery_digest(anna, codes[0]) != recovery_digest(ben, codes[0])
    assert codes[0] not in recovery_digest(anna, codes[0])
