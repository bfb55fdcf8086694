"""Whom a restored backup brings back is erased again."""

from pathlib import Path

import orjson
import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from coaching.actions.erasures import erase_rows
from coaching.models import Business, BusinessState, Client, Erasure
from coaching.tenancy.scope import business_scope
from tests.logs.logging import check_in
from tests.scenario import Cast, build_business

SINGLE = "/api/v1/check-ins"


def _forget(cast: Cast, client: Client) -> None:
    with business_scope(cast.business_id):
        assert erase_rows(client_id=client.id, erased_by=cast.owner.id, now=timezone.now()) is not None


def test_whoever_a_backup_brings_back_is_erased_again_by_the_ledger_or_its_file(
    committed: None, tmp_path: Path
) -> None:
    cast = build_business("Sundew Strength")
    _forget(cast, cast.anna)
    ledger = tmp_path / "ledger"
    call_command("export_erasures", str(ledger))
    with business_scope(cast.business_id):
        Client.objects.create(
            id=cast.anna.id, name="Anna", coach=cast.coach, time_zone="UTC", unit="kg", created_at=timezone.now()
        )
    call_command("replay_erasures")
    with business_scope(cast.business_id):
        assert not Client.objects.filter(id=cast.anna.id).exists()
    # A ledger of later than the backup: the database knows nothing of it.
    row = orjson.loads(ledger.read_bytes())
    ledger.write_bytes(orjson.dumps({**row, "client_id": str(cast.ben.id)}))
    call_command("replay_erasures", "--ledger", str(ledger))
    with business_scope(cast.business_id):
        assert not Client.objects.filter(id=cast.ben.id).exists()
        assert set(Erasure.objects.values_list("client_id", flat=True)) == {cast.anna.id, cast.ben.id}
    answer = cast.key("logs:write").post(SINGLE, check_in(cast.ben), format="json")
    assert answer.json()["code"] == "client_erased"
    ledger.write_text("nonsense")
    with pytest.raises(CommandError, match="no ledger"):
        call_command("replay_erasures", "--ledger", str(ledger))


def test_the_ledger_of_a_closed_business_is_written_and_replayed_too(committed: None, tmp_path: Path) -> None:
    cast = build_business("Sundew Strength")
    _forget(cast, cast.anna)
    with business_scope(cast.business_id):
        Business.objects.update(state=BusinessState.CLOSED)
    ledger = tmp_path / "ledger"
    call_command("export_erasures", str(ledger))
    assert orjson.loads(ledger.read_bytes())["client_id"] == str(cast.anna.id)
    with business_scope(cast.business_id):
        Client.objects.create(
            id=cast.anna.id, name="Anna", coach=cast.coach, time_zone="UTC", unit="kg", created_at=timezone.now()
        )
    call_command("replay_erasures")
    with business_scope(cast.business_id):
        assert not Client.objects.filter(id=cast.anna.id).exists()
