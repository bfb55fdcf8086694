"""Secrets at rest: readable under the keys of the environment only."""

from typing import Any

import pytest

from coaching.sealed_secrets import SealedWithAnotherKeyError, is_sealed_with_the_present_key, seal, unseal

OLD, NEW = "an old key " * 6, "a new key " * 6


def test_what_is_sealed_is_read_back_and_never_stored_twice_alike(settings: Any) -> None:
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = OLD, []
    sealed = seal(b"shared secret", "second_factor")
    assert "shared" not in sealed
    assert sealed != seal(b"shared secret", "second_factor")
    assert unseal(sealed, "second_factor") == b"shared secret"


def test_what_is_sealed_for_one_purpose_opens_for_no_other() -> None:
    with pytest.raises(SealedWithAnotherKeyError):
        unseal(seal(b"shared secret", "second_factor"), "webhook")


def test_an_old_key_opens_while_it_is_a_fallback_and_no_longer(settings: Any) -> None:
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = OLD, []
    sealed = seal(b"shared secret", "second_factor")
    assert is_sealed_with_the_present_key(sealed, "second_factor")
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = NEW, [OLD]
    assert unseal(sealed, "second_factor") == b"shared secret"
    assert not is_sealed_with_the_present_key(sealed, "second_factor")
    settings.SECRET_KEY_FALLBACKS = []
    with pytest.raises(SealedWithAnotherKeyError, match="SECRET_KEY_FALLBACKS"):
        unseal(sealed, "second_factor")


@pytest.mark.parametrize("place", [0, 30, -2])
def test_a_seal_that_was_tampered_with_opens_nothing(place: int) -> None:
    sealed = list(seal(b"shared secret", "second_factor"))
    sealed[place] = "A" if sealed[place] != "A" else "B"
    with pytest.raises(SealedWithAnotherKeyError):
        unseal("".join(sealed), "second_factor")
