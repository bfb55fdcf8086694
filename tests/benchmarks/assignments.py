"""One version given to 1, 40 and 200 clients: statements and seconds.

Each run takes clients that nothing was assigned to before, and commits. The version has twelve weeks of three sessions.
"""

from datetime import timedelta
from statistics import median
from time import perf_counter
from uuid import UUID

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coaching.models import Client, ClientZone
from coaching.tenancy.scope import business_scope
from programs.models import Version
from tests.benchmarks.ratios import Ratio
from tests.programs.documents import assign, content, published
from tests.scenario import Cast, build_business

RUNS = 5
WEEKS = 12
FEW, MANY = 40, 200
Took = tuple[float, int]


def measure() -> list[Ratio]:
    """Measure the statements of 40 and 200 clients against those of one, and the seconds for each client."""
    cast = build_business("Slate Yard")
    with business_scope(cast.business_id):
        version = published(content(weeks=WEEKS))
    _assigned(cast, version, clients=2)
    took: dict[int, list[Took]] = {1: [], FEW: [], MANY: []}
    for _ in range(RUNS):
        for clients, runs in took.items():
            runs.append(_assigned(cast, version, clients=clients))
    return [_statements(took, FEW), _statements(took, MANY), _seconds(took)]


def _assigned(cast: Cast, version: Version, *, clients: int) -> Took:
    ids = _new_clients(cast, clients)
    with CaptureQueriesContext(connection) as statements:
        started = perf_counter()
        with business_scope(cast.business_id):
            results = assign(cast.coach, version, *ids)
        seconds = perf_counter() - started
    if {result.outcome for result in results} != {"assigned"}:
        raise RuntimeError(
            f"Not all were assigned: {[result for result in results if result.outcome != 'assigned'][:1]}"
        )
    return seconds, len(statements)


def _new_clients(cast: Cast, count: int) -> list[UUID]:
    with business_scope(cast.business_id):
        made = [
            Client(name=f"Client {number}", coach=cast.coach, time_zone="Europe/Paris", unit="kg")
            for number in range(count)
        ]
        Client.objects.bulk_create(made)
        since = timezone.now() - timedelta(days=4000)
        ClientZone.objects.bulk_create(ClientZone(client=one, from_instant=since, zone="Europe/Paris") for one in made)
    return [one.id for one in made]


def _statements(took: dict[int, list[Took]], clients: int) -> Ratio:
    one = median(statements for _, statements in took[1])
    ratios = [statements / one for _, statements in took[clients]]
    return Ratio(
        path=f"assignment of {WEEKS} weeks to {clients} clients, statements against one client's",
        ours=f"{median(statements for _, statements in took[clients]):.0f} statements",
        baseline=f"{one:.0f} statements",
        ratio=median(ratios),
        target=1.0,
        spread=(min(ratios), max(ratios)),
        at_most=True,
    )


def _seconds(took: dict[int, list[Took]]) -> Ratio:
    each = {clients: [seconds / clients for seconds, _ in runs] for clients, runs in took.items()}
    ratios = [many / few for many, few in zip(each[MANY], each[FEW], strict=True)]
    single = median(each[1])
    return Ratio(
        path=f"assignment of {WEEKS} weeks to {MANY} clients, seconds for each against {FEW}'s",
        ours=f"{median(each[MANY]) * MANY:.2f} s, {median(each[MANY]) * 1000:.1f} ms each",
        baseline=f"{median(each[FEW]) * FEW:.2f} s, {median(each[FEW]) * 1000:.1f} ms each; one {single * 1000:.0f} ms",
        ratio=median(ratios),
        target=1.2,
        spread=(min(ratios), max(ratios)),
        at_most=True,
    )
