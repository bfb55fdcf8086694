"""Rows to everything that the rules read of clients; a fixed number of queries whatever their number."""

import json
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.models import Business, Client, ClientState
from coaching.tenancy.scope import current_business_id
from logs.analysis.attendance import AttendancePolicy
from logs.analysis.client_rules import ClientSituation, DailyFacts
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.load_jumps import WeekLoad
from logs.analysis.readiness import CLOSED_BY_PERSON, evidence_from_text
from logs.analysis.reported_signs import PainReport, PainWhen, SymptomReport
from logs.analysis.session_lengths import PerformedSession
from logs.models import Flag, FlagState
from logs.models.session_logs import HELD_DAYS
from logs.selectors.attendance_facts import Attendance, attendance_facts
from logs.selectors.daily_rule_facts import daily_facts
from logs.selectors.performed_sessions import performed_sessions, written_until
from logs.selectors.wellness_facts import Wellness, wellness_facts
from programs.selectors.business_calendar import BusinessCalendar

COACHED_STATES: Final = (ClientState.ACTIVE, ClientState.LEAVING)
REPORTS_DAYS: Final = 28
# Longer than the reports are heard: what was resolved before can't be about any of them.
_SETTLED_DAYS: Final = 60

_REPORTS: Final = """
SELECT client_id, 'check_in:' || id, local_date, symptoms, pains::text FROM logs_checkin
WHERE business_id = %(business)s AND client_id = ANY (%(clients)s) AND local_date >= %(since)s
  AND deleted_at IS NULL AND (symptoms <> '{}' OR pains <> '[]')
UNION ALL
SELECT client_id, 'session_log:' || id, local_date, symptoms, '[]' FROM logs_sessionlog
WHERE business_id = %(business)s AND client_id = ANY (%(clients)s) AND local_date >= %(since)s
  AND deleted_at IS NULL AND symptoms <> '{}'
UNION ALL
SELECT client_id, 'set_log:' || source || chr(9) || external_id, local_date, symptoms, '[]' FROM logs_setlog
WHERE business_id = %(business)s AND client_id = ANY (%(clients)s) AND local_date >= %(since)s
  AND deleted_at IS NULL AND symptoms <> '{}'
UNION ALL
SELECT h.client_id, 'set_log:' || h.source || chr(9) || h.external_id,
  ((h.expires_at - %(held_for)s) AT TIME ZONE c.time_zone - b.day_ends_at)::date,
  ARRAY (SELECT jsonb_array_elements_text(h.item -> 'fields' -> 'symptoms')), '[]'
FROM logs_helditem h JOIN coaching_client c ON c.business_id = h.business_id AND c.id = h.client_id
  JOIN coaching_business b ON b.id = h.business_id
WHERE h.business_id = %(business)s AND h.client_id = ANY (%(clients)s) AND h.item -> 'fields' -> 'symptoms' <> '[]'
"""
# A set keeps its name when its session comes, so that who resolved what the held one reported need not do it again.
# Its day while it waits is the one on which it was last sent.


@dataclass(slots=True)
class _Reports:
    symptoms: list[SymptomReport] = field(default_factory=list)
    pains: list[PainReport] = field(default_factory=list)


def client_days(*, client_ids: Collection[UUID], calendar: BusinessCalendar, now: datetime) -> dict[UUID, date]:
    """Return each client's local date of now, in the order of their ids."""
    rows = Client.objects.filter(id__in=list(client_ids)).order_by("id").values_list("id", "time_zone")
    return {client_id: calendar.today(now, zone) for client_id, zone in rows}


def client_situations(
    *, days: Mapping[UUID, date], calendar: BusinessCalendar, now: datetime, daily: Collection[UUID] = ()
) -> dict[UUID, ClientSituation]:
    """Read what the rules need.

    Args:
        days: each client's local date of today.
        calendar: the business's reckoning of weeks.
        now: the present instant.
        daily: the clients of whom the daily rules are asked too.
    """
    if not days:
        return {}
    policy = _attendance_policy()
    coached = set(Client.objects.filter(id__in=list(days), state__in=COACHED_STATES).values_list("id", flat=True))
    reports = _reports(days)
    settled = _settled(days, now)
    attendance = attendance_facts(days=days, week_start=calendar.week_start)
    wellness = wellness_facts(days=days)
    performed = performed_sessions(days=days)
    written = written_until(client_ids=list(days))
    of_the_day = daily_facts(days={client_id: day for client_id, day in days.items() if client_id in daily})
    return {
        client_id: _situation(
            today,
            calendar,
            reports[client_id],
            attendance[client_id],
            wellness[client_id],
            coached=client_id in coached,
            settled=frozenset(settled[client_id]),
            policy=policy,
            performed=performed[client_id],
            until=written.get(client_id),
            daily=of_the_day.get(client_id),
        )
        for client_id, today in days.items()
    }


def _situation(
    today: date,
    calendar: BusinessCalendar,
    reports: _Reports,
    own: Attendance,
    said: Wellness,
    *,
    coached: bool,
    settled: frozenset[str],
    policy: AttendancePolicy,
    performed: list[PerformedSession],
    until: date | None,
    daily: DailyFacts | None,
) -> ClientSituation:
    return ClientSituation(
        today=today,
        coached=coached,
        symptoms=reports.symptoms,
        pains=reports.pains,
        settled=settled,
        sessions=own.sessions,
        floating_weeks=own.floating_weeks,
        absences=own.absences,
        pauses=own.pauses,
        start_date=own.start_date,
        written_until=until,
        performed=performed,
        daily=daily,
        contact_dates=own.contact_dates,
        check_ins=said.entries,
        care_groups=said.care_groups,
        weeks=_to_last_week(own.weeks, calendar.week_of(today) - timedelta(days=DAYS_PER_WEEK)),
        attendance=policy,
    )


def _to_last_week(weeks: list[WeekLoad], last_week: date) -> list[WeekLoad]:
    """Let the week that ended last be among them: one of which nothing is known held no load, not the last jump's."""
    if any(week.week_start == last_week for week in weeks):
        return weeks
    return [*weeks, WeekLoad(week_start=last_week, session_load=Decimal(0))]


def _attendance_policy() -> AttendancePolicy:
    sessions = Business.objects.values_list("missed_escalation_sessions", flat=True).get(id=current_business_id())
    return AttendancePolicy(escalate_sessions=sessions)


def _reports(days: Mapping[UUID, date]) -> dict[UUID, _Reports]:
    parameters: dict[str, Any] = {
        "business": current_business_id(),
        "clients": list(days),
        "since": min(days.values()) - timedelta(days=REPORTS_DAYS),
        "held_for": timedelta(days=HELD_DAYS),
    }
    with connection.cursor() as cursor:
        cursor.execute(_REPORTS, parameters)
        rows = cursor.fetchall()
    found: defaultdict[UUID, _Reports] = defaultdict(_Reports)
    for client_id, identity, local_date, symptoms, pains in rows:
        if local_date < days[client_id] - timedelta(days=REPORTS_DAYS):
            continue
        own = found[client_id]
        codes = tuple(sorted(symptoms))
        if codes:
            # The codes stand in the identity: what a correction adds is new evidence, what it leaves is not.
            name = f"{identity}:{','.join(codes)}"
            own.symptoms.append(SymptomReport(identity=name, local_date=local_date, codes=codes))
        own.pains.extend(_pain(identity, local_date, pain) for pain in json.loads(pains))
    return found


def _pain(identity: str, local_date: date, pain: Mapping[str, Any]) -> PainReport:
    side, score = pain.get("side") or "", pain["score"]
    when: PainWhen = pain.get("when") or "during"
    return PainReport(
        identity=f"{identity}:{pain['site']}:{side}:{when}:{score}",
        local_date=local_date,
        site=pain["site"],
        score=score,
        side=side,
        when=when,
        onset=pain.get("onset") or "known",
        sharp=bool(pain.get("sharp")),
        exercise=pain.get("exercise") or "",
    )


def _settled(days: Mapping[UUID, date], now: datetime) -> dict[UUID, set[str]]:
    found: defaultdict[UUID, set[str]] = defaultdict(set)
    rows = Flag.objects.filter(
        client_id__in=list(days),
        kind__in=sorted(CLOSED_BY_PERSON),
        state=FlagState.RESOLVED,
        resolved_at__gte=now - timedelta(days=_SETTLED_DAYS),
    )
    for client_id, evidence in rows.values_list("client_id", "evidence"):
        found[client_id].update(evidence_from_text(evidence))
    return found
