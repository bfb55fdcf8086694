import time
from coaching.models import Client
from coaching.tenancy.scope import business_scope
from programs.models import Version
from programs.actions.version_moves import move_to_version
from programs.actions.version_move_results import VersionMove
from programs.actions.bulk_changes import change_sessions
from programs.actions.bulk_change_results import *
from tests.programs.api.test_version_moves import next_version, heavier
from tests.programs.documents import *
from tests.scenario import NOON
from decimal import Decimal
from datetime import timedelta

def test_t(cast):
    with business_scope(cast.business_id):
        clients = [Client.objects.create(name=f"C{n}", coach=cast.coach, time_zone="UTC", unit="kg").id for n in range(200)]
        before = Version.objects.select_related("variant").get(id=published(content(weeks=12)).id)
        t=time.perf_counter(); assigned = assign(cast.coach, before, *clients); print("assign", time.perf_counter()-t)
        version = next_version(before, heavier(weeks=14))
        t=time.perf_counter()
        r = move_to_version(actor=acting(cast.coach), version_id=version.id, moves=[VersionMove(a.assignment_id, MONDAY) for a in assigned], now=NOON)
        print("move", time.perf_counter()-t, r[0].rewritten_count, r[0].added_count)
        t=time.perf_counter()
        r=change_sessions(actor=acting(cast.coach), wanted=SessionsWanted(first=MONDAY, last=MONDAY+timedelta(days=6)), change=MakeDeload(Decimal(50), Decimal(-10)), now=NOON)
        print("bulk deload", len(r), time.perf_counter()-t)
        t=time.perf_counter()
        r=change_sessions(actor=acting(cast.coach), wanted=SessionsWanted(first=MONDAY, last=MONDAY+timedelta(days=6)), change=Shift(7), now=NOON)
        print("bulk shift", len(r), time.perf_counter()-t)
