"""Each management command stays in the business that it was told, or says why it looks at all of them."""

import io
from pathlib import Path
from typing import Any, Final

import orjson
import pytest
import time_machine
from django.core.management import CommandError, call_command, get_commands
from django.db import connection, transaction

from coaching.models import Person
from coaching.models.second_factors import SecondFactor
from coaching.tenancy.scope import business_scope
from logs.models import ClientWeek
from programs.models import Exercise
from tests.architecture.checksums import row_checksums
from tests.architecture.world import AFTER, build_world
from tests.scenario import Cast, build_business

COMMANDS: Final = {
    "create_business": "makes one business; nothing of another",
    "export_erasures": "the operator's: ids of every business, business by business",
    "find_in_database": "the operator's: counts of every business, business by business; never what stands there",
    "rebuild_weeks": "one business by --business; each in its own scope without",
    "refresh_catalogue": "one business by --business; each in its own scope without",
    "replay_erasures": "each row of the ledger in the business that it names",
    "reset_second_factor": "one account, told to its businesses only",
    "access_matrix": "a database of the tests' own",
    "benchmark": "a database of its own",
    "demo": "servers and businesses of its own",
    "power_table": "reads no database",
    "security_tests": "reads no database",
}
"""What each command reaches. A new one fails here until it is reviewed."""


def _run(command: str, *arguments: str) -> str:
    said = io.StringIO()
    with time_machine.travel(AFTER, tick=False):
        call_command(command, *arguments, stdout=said)
    return said.getvalue()


def _all_rows(cast: Cast) -> dict[str, str]:
    found = row_checksums(cast.business_id)
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute("SELECT md5(b::text) FROM coaching_business b")
        found["coaching_business"] = cursor.fetchone()[0]
        cursor.execute(
            "SELECT md5(string_agg(p::text, ',' ORDER BY p.id)) FROM coaching_person p "
            "WHERE p.id IN (SELECT person_id FROM coaching_membership)"
        )
        found["coaching_person"] = cursor.fetchone()[0]
    return found


def test_each_command_is_reviewed() -> None:
    ours = {name for name, app in get_commands().items() if app in {"coaching", "programs", "logs"}}
    assert ours == set(COMMANDS)


def _spoil(cast: Cast) -> None:
    """Leave to each command something to do in the business."""
    with business_scope(cast.business_id):
        Exercise.objects.filter(key="goblet-squat").delete()
        Exercise.objects.filter(key="front-squat").update(name="Out of date")
        assert ClientWeek.objects.filter(client=cast.anna).update(work_sets=77)
    SecondFactor.objects.create(person=cast.coach.person, sealed_secret="none", started_at=AFTER, confirmed_at=AFTER)


def test_a_command_for_one_business_leaves_the_others_alone(cast: Cast, neighbour: Cast, tmp_path: Path) -> None:
    with time_machine.travel(AFTER, tick=False):
        for one in (cast, neighbour):
            build_world(one)
            _spoil(one)
    ledger = tmp_path / "ledger"

    # Anna in her own business, and the neighbour's client as if he were of ours.
    ledger.write_bytes(b"\n".join(_ledger_row(cast, client) for client in (cast.anna.id, neighbour.carl.id)))
    ways = {
        "refresh_catalogue": ("--business", str(cast.business_id)),
        "rebuild_weeks": ("--business", str(cast.business_id)),
        "reset_second_factor": ("--email", cast.coach.person.email),
        "replay_erasures": ("--ledger", str(ledger)),
    }
    theirs, ours = _all_rows(neighbour), _all_rows(cast)
    strayed, idle = {}, []
    for name, arguments in ways.items():
        with transaction.atomic():
            said = _run(name, *arguments)
            changed = {table for table, checksum in _all_rows(neighbour).items() if checksum != theirs[table]}
            if changed or str(neighbour.business_id) in said:
                strayed[name] = (changed, said)
            if _all_rows(cast) == ours:
                idle.append(name)
            transaction.set_rollback(True)
    assert strayed == {}
    assert idle == [], "the control: each had something to do"


def _ledger_row(cast: Cast, client_id: Any) -> bytes:
    return orjson.dumps(
        {
            "business_id": cast.business_id,
            "client_id": client_id,
            "erased_at": AFTER,
            "erased_by": None,
            "coach_id": None,
            "key_ids": [],
            "counts": {},
        }
    )


def test_a_new_business_of_somebody_elses_owner_changes_nothing_of_theirs(cast: Cast) -> None:
    before = _all_rows(cast)
    named = ["--name", "Third", "--time-zone", "Europe/Paris", "--owner-name", "Another Name"]
    said = _run("create_business", *named, "--owner-email", cast.owner.person.email, "--owner-password", "x" * 20)
    assert "signs in with its own password" in said
    assert _all_rows(cast) == before
    assert not Person.objects.get(id=cast.owner.person_id).check_password("x" * 20)


def test_the_search_of_the_operator_tells_counts_and_never_what_stands_there(committed: None) -> None:
    cast = build_business("Northern Iron")
    said = io.StringIO()
    with pytest.raises(CommandError, match="Found in"):
        call_command("find_in_database", "north", str(cast.anna.id)[:18], stdout=said)
    assert "coaching_client.email: 3" in said.getvalue()
    assert "iron" not in said.getvalue().lower()
    assert str(cast.anna.id)[:18] not in said.getvalue()
