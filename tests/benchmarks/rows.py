"""What the benchmarks write: an invented business, its clients, sessions, and sets as an app would post them."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone

from coaching.actions.api_keys import create_api_key
from coaching.tenancy.scope import business_scope
from logs.models import SessionLog
from tests.scenario import build_business

SETS_A_SESSION = 16
SOURCE = "bench-app"


@dataclass(frozen=True)
class Bench:
    """A business to write logs into, and a key of it."""

    business_id: UUID
    client_ids: list[str]
    secret: str


def bench_business(name: str, *, clients: int = 50) -> Bench:
    """Make a business, committed."""
    from coaching.models import Client, ClientZone

    cast = build_business(name)
    with business_scope(cast.business_id):
        made = [
            Client(name=f"Client {number}", coach=cast.coach, time_zone="Europe/Paris", unit="kg")
            for number in range(clients)
        ]
        Client.objects.bulk_create(made)
        ClientZone.objects.bulk_create(
            ClientZone(client=one, from_instant=timezone.now() - timedelta(days=4000), zone="Europe/Paris")
            for one in made
        )
        _key, secret = create_api_key(
            created_by=cast.owner.id, name="Bench", scopes=("logs:write",), source=SOURCE, client_ids=None
        )
    return Bench(cast.business_id, [str(one.id) for one in made], secret)


def add_sessions(bench: Bench, *, sets: int, run: str) -> list[str]:
    """Store the sessions that a run's sets refer to; return their external ids."""
    day = date(2026, 3, 2)
    names = [f"{run}-{number}" for number in range(-(-sets // SETS_A_SESSION))]
    with business_scope(bench.business_id):
        SessionLog.objects.bulk_create(
            SessionLog(
                client_id=UUID(bench.client_ids[number % len(bench.client_ids)]),
                source=SOURCE,
                external_id=name,
                content_hash=b"\0" * 16,
                local_date=day + timedelta(days=number // len(bench.client_ids)),
                received_at=timezone.now(),
            )
            for number, name in enumerate(names)
        )
    return names


def set_items(bench: Bench, sessions: list[str], *, sets: int) -> list[dict[str, Any]]:
    """Write the items of a run."""
    exercises = ("back-squat", "bench-press", "pull-up", "deadlift")
    items = []
    for number in range(sets):
        session, within = divmod(number, SETS_A_SESSION)
        items.append(
            {
                "external_id": f"{sessions[session]}-{within}",
                "client": bench.client_ids[session % len(bench.client_ids)],
                "session_external_id": sessions[session],
                "exercise": exercises[within // 4],
                "slot": f"{'ABCD'[within // 4]}1",
                "set_number": within % 4 + 1,
                "kind": "work",
                "reps": 5 + within % 4,
                "load_kg": 60 + 2.5 * (number % 17),
                "in_reserve": 2,
                "side": "both",
                "duration_s": 44,
                "phase_source": "device",
                "phase_s": {"eccentric": 4.1, "lengthened": 0.6, "concentric": 0.8, "shortened": 1.0},
            }
        )
    return items
