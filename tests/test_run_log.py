"""The witness of the run's log sees what it must: else its silence would say nothing."""

import logging

from tests import run_log
from tests.scenario import Cast


def test_secrets_of_requests_and_answers_are_noted(cast: Cast) -> None:
    owner = cast.api(cast.owner)
    made = owner.post("/api/v1/api-keys", {"name": "App", "scopes": ["logs:read"]}, format="json").json()
    secrets = [value for value in made.values() if isinstance(value, str) and value.startswith("cp_")]
    assert secrets
    assert {*secrets, cast.tokens[cast.owner.id]} <= run_log.issued
    cast.owner.person.set_password("a password only for this")
    cast.owner.person.save()
    assert "a password only for this" in run_log.issued


def test_an_id_that_stands_where_a_secret_may_is_none(cast: Cast) -> None:
    named = "0198f3a2-7c11-7d52-9c60-3b6a5d1e4f70"
    cast.api(cast.owner).post("/api/v1/exercises", {"key": named, "secret": "a-planted-one-7"}, format="json")
    assert named not in run_log.issued
    assert "a-planted-one-7" in run_log.issued


def test_a_secret_is_found_wherever_it_stands_in_a_line() -> None:
    secrets = {"cp_abcdefgh_0123456789", "two words 1", "0a1b2c3d4e5f", "never said 1"}
    text = "key=cp_abcdefgh_0123456789, 'two words 1' and token:0a1b2c3d4e5f"
    assert run_log.secrets_in(text, secrets) == ["0a1b2c3d4e5f", "cp_abcdefgh_0123456789", "two words 1"]


def test_what_any_logger_says_is_kept_as_it_is_written() -> None:
    logging.getLogger("somebody.elses").warning("said %s", "Bearer 0a1b2c3d4e5f")
    # Another thread's line may have come after it.
    assert any(line.endswith("WARNING somebody.elses said Bearer [...]") for line in run_log.lines[-20:])
