"""V7 Session management."""

from coaching.models import SessionToken
from tests.scenario import Cast, signed_in

PASSWORD = "correct horse battery"


def _token(cast: Cast) -> str:
    person = cast.owner.person
    if not person.has_usable_password():
        person.set_password(PASSWORD)
        person.save()
    answer = signed_in("x").post("/api/v1/sessions", {"email": person.email, "password": PASSWORD}, format="json")
    assert answer.status_code == 201, answer.content
    token: str = answer.json()["token"]
    return token


def test_tokens_are_long_random_and_made_anew(cast: Cast) -> None:
    """7.2.2, 7.2.3, 7.2.4 Each sign-in makes a token of its own, of 256 random bits; nothing of it is kept as it is."""
    tokens = {_token(cast) for _ in range(4)}
    assert len(tokens) == 4
    assert all(len(token) >= 43 for token in tokens)
    kept = " ".join(str(value) for row in SessionToken.objects.values() for value in row.values())
    assert not [token for token in tokens if token in kept]
    shared = [len({token[place] for token in tokens}) for place in range(43)]
    assert sum(count > 1 for count in shared) > 35


def test_a_session_is_good_only_as_long_as_its_row_says(cast: Cast) -> None:
    """7.2.1 The service looks each token up; what it says of itself counts for nothing."""
    token = _token(cast)
    assert signed_in(token).get("/api/v1/me").status_code == 200
    SessionToken.objects.all().delete()
    assert signed_in(token).get("/api/v1/me").status_code == 401
