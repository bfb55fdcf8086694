"""Codes of an authenticator app, against the vectors of the RFCs that define them."""

import pytest

from coaching.one_time_codes import code_of_step

# RFC 6238, Appendix B, and RFC 4226, Appendix D: the same secret in both.
SECRET = b"12345678901234567890"


@pytest.mark.parametrize(
    ("instant_s", "code"),
    [
        # RFC 6238, Appendix B, the rows of SHA-1: eight digits, steps of 30 s from the epoch.
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_a_time_based_code_is_the_one_of_rfc_6238(instant_s: int, code: str) -> None:
    assert code_of_step(SECRET, instant_s // 30, digits=8) == code
    # The digits that an app of six shows are the last of the eight: both are remainders of one number.
    assert code_of_step(SECRET, instant_s // 30) == code[-6:]


def test_codes_of_the_first_ten_steps_are_those_of_rfc_4226() -> None:
    # RFC 4226, Appendix D, "HOTP" of counts 0 to 9.
    published = ["755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"]
    assert [code_of_step(SECRET, count) for count in range(10)] == published
