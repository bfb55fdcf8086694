import time
from datetime import timedelta
from decimal import Decimal
import orjson
from django.db import connection
from coaching.models import Client
from coaching.tenancy.scope import business_scope
from coaching.policy import Principal
from coaching.models.people import Role
from coaching.tenancy.models import new_id
from logs.models import SessionLog, CheckIn
from logs.selectors import overview, overview_facts
from programs.models import PlannedSession
from programs.selectors.business_calendar import get_business_calendar
from tests.logs import histories
from tests.scenario import NOON
from logs.actions.flags import flags_of_the_day
from logs.api.serializers.overview import show_overview
import time_machine


def test_timing(cast):
    with business_scope(cast.business_id):
        for n in range(497):
            c = Client.objects.create(name=f"C{n}", coach=cast.coach, time_zone=["Europe/Paris", "America/Chicago"][n % 2], unit="kg")
            a = histories.assignment(c)
            v = a.variant.versions.get()
            PlannedSession.objects.bulk_create(
                PlannedSession(assignment=a, client=c, version=v, week_number=w, day_number=1, template_key="x", title="x",
                    local_date=NOON.date() + timedelta(days=3 * (w - 60)), window_start=NOON.date() + timedelta(days=3 * (w - 60)),
                    window_end=NOON.date() + timedelta(days=3 * (w - 60)), zone="Europe/Paris", due_at=NOON + timedelta(days=3 * (w - 60) + 1),
                    state="done" if w < 60 else "planned", prescribed={}, planned_work_sets=3, planned_low_min=Decimal(1), planned_high_min=Decimal(2)) for w in range(80))
            SessionLog.objects.bulk_create(SessionLog(**histories.log_fields(c, NOON.date() - timedelta(days=3 * i))) for i in range(1, 60))
            CheckIn.objects.bulk_create(CheckIn(**histories.log_fields(c, NOON.date() - timedelta(days=3 * i))) for i in range(1, 60))
    for _ in range(4):
        flags_of_the_day(cast.business_id, NOON)
    with business_scope(cast.business_id), connection.cursor() as cursor:
        for t in ("programs_plannedsession", "logs_sessionlog", "logs_checkin"):
            pass
    actor = Principal(kind="person", business_id=cast.business_id, credential_id=new_id(), role=Role.OWNER)
    with business_scope(cast.business_id):
        for _ in range(3):
            t = time.perf_counter(); rows = overview.list_overview(actor=actor, now=NOON); all_ = time.perf_counter() - t
            t = time.perf_counter(); clients = overview._clients(actor, None); t_clients = time.perf_counter() - t
            cal = get_business_calendar(); todays = {c.client_id: cal.today(NOON, c.time_zone) for c in clients}
            t = time.perf_counter(); overview_facts.overview_facts(todays=todays, calendar=cal, policy=overview._POLICY, now=NOON); t_sql = time.perf_counter() - t
            t = time.perf_counter(); overview._standing_flags(todays); t_flags = time.perf_counter() - t
            t = time.perf_counter(); orjson.dumps(show_overview(rows[:200]), default=str); t_show = time.perf_counter() - t
            print(len(rows), f"all {all_:.3f} clients {t_clients:.3f} sql {t_sql:.3f} flags {t_flags:.3f} show200 {t_show:.3f}")
        with connection.cursor() as cursor:
            import re
            params = {"business": cast.business_id, "clients": list(todays), "todays": list(todays.values()), "weeks": [cal.week_of(t) for t in todays.values()],
              "now": NOON, "attended": ["done","started"], "neutral": ["excused","paused"], "recent_days": 14, "measured_days": 7, "days": 7}
            cursor.execute("EXPLAIN (ANALYZE, BUFFERS off) " + overview_facts._FACTS, params)
            print("\n".join(r[0] for r in cursor.fetchall()))
    with time_machine.travel(NOON, tick=True):
        api = cast.api(cast.owner)
        for _ in range(3):
            t = time.perf_counter(); assert api.get("/api/v1/overview?limit=50").status_code == 200; print("http", time.perf_counter() - t)
