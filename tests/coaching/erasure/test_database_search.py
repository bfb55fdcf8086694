"""The operator's search finds a text however a column writes it."""

from typing import Any
from uuid import uuid4

import orjson
import pytest
from django.core.management import CommandError, call_command

from coaching.models import Client, IdempotentAnswer, OutboxMessage
from coaching.tenancy.scope import business_scope
from tests.scenario import NOON, Cast, build_business

NAME = 'Zoë "Quok" Ångstrøm'


def _places(capsys: Any, *texts: str) -> set[str]:
    with pytest.raises(CommandError, match="Found in"):
        call_command("find_in_database", *texts)
    return {line.split(": ")[1] for line in capsys.readouterr().out.splitlines()}


def _keep(cast: Cast, name: str) -> None:
    with business_scope(cast.business_id):
        IdempotentAnswer.objects.create(
            credential_id=uuid4(), key="kept", fingerprint="", status=200, body=orjson.dumps({"name": name})
        )


@pytest.mark.parametrize("asked", [NAME, "zoë", "ÅNGSTRØM", '"quok"'], ids=["whole", "small", "big", "quoted"])
def test_letters_that_are_not_ascii_and_quotes_are_found_in_text_in_json_and_in_bytes(
    committed: None, capsys: Any, asked: str
) -> None:
    cast = build_business("Sundew Strength")
    _keep(cast, NAME.lower() if asked == "zoë" else NAME.upper() if asked == "ÅNGSTRØM" else NAME)
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(name=NAME)
        OutboxMessage.objects.create(
            kind="digest", dedupe_key="one", payload={}, rendered={"subject": NAME}, due_at=NOON
        )
    assert _places(capsys, asked) == {
        "coaching_client.name",
        "coaching_idempotentanswer.body",
        "coaching_outboxmessage.rendered",
    }
