"""V14 Data protection."""

from tests.scenario import Cast
from tests.security.operations import CALLED, attack


def test_no_secret_travels_in_an_address(cast: Cast) -> None:
    """14.2.1 A credential in the address is refused with a sentence, and no operation takes a secret in its query."""
    api = cast.api(cast.owner)
    for name in ("api_key", "access_token", "token"):
        assert api.get(f"/api/v1/me?{name}=cp_abcdefgh_x").json()["code"] == "credential_in_url"
    from tests.security.operations import PARAMETERS

    words = {name for names in PARAMETERS.values() for name in names}
    assert not [name for name in words if any(word in name for word in ("password", "secret", "token", "email", "key"))]


def test_no_answer_that_needs_a_credential_is_kept_by_a_cache(cast: Cast, world: dict[str, str]) -> None:
    """14.3.2 `Cache-Control: no-store` on all of them; a card's own page may be kept by its reader's browser alone."""
    api = cast.api(cast.client_member)
    for operation, call in CALLED.items():
        told = attack(api, call, world).headers["Cache-Control"]
        assert "no-store" in told or "private" in told, (operation, told)
        assert "public" not in told, operation
