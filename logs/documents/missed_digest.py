"""A coach's digest of missed sessions, as an email."""

from dataclasses import dataclass
from datetime import date
from email.utils import formataddr
from itertools import groupby
from operator import attrgetter
from typing import Any
from uuid import UUID

from django.conf import settings
from django.template.loader import render_to_string
from django.utils.dateformat import format as format_date

from coaching.measures.local_calendar import zone
from coaching.registry import Rendered
from logs.selectors.digests import DigestFacts, MissedFact

_DAY = "l j F Y"
_INSTANT = "l j F Y, H:i"


@dataclass(frozen=True, slots=True)
class OldSessions:
    """A client's sessions from before an outage, in one line."""

    client: str
    count: int
    first: str
    last: str
    mark: str


def missed_digest(facts: DigestFacts) -> Rendered:
    """Write out a digest: each session of the last day a row, older ones a line for each client.

    The subject says how many and no more: subjects show on locked screens.
    """
    count = len(facts.missed)
    subject = f"{count} session{'' if count == 1 else 's'} missed"
    context = {
        "subject": subject,
        "coach": _line(facts.coach_name),
        "business": _line(facts.business_name),
        "day": _day(facts.local_date),
        "zone": facts.coach_zone,
        "rows": [_row(fact, facts) for fact in facts.missed if not fact.old],
        "old": [
            _old_sessions(list(sessions), facts)
            for _client, sessions in groupby((fact for fact in facts.missed if fact.old), key=attrgetter("client_id"))
        ],
        "alerts_url": f"{settings.PUBLIC_URL}/api/v1/alerts",
    }
    return Rendered(
        to=formataddr((_line(facts.coach_name), facts.coach_email)),
        subject=subject,
        text=render_to_string("logs/missed_digest.txt", context),
        html=render_to_string("logs/missed_digest.html", context),
    )


def _row(fact: MissedFact, facts: DigestFacts) -> dict[str, Any]:
    counted_at = fact.counted_at.astimezone(zone(facts.coach_zone))
    return {
        "client": _line(fact.client_name),
        "title": _line(fact.title),
        "day": _day(fact.local_date),
        "client_zone": "" if fact.client_zone == facts.coach_zone else fact.client_zone,
        "counted_at": format_date(counted_at, _INSTANT),
        "mark": _mark(fact.client_id, facts),
        "url": f"{settings.PUBLIC_URL}/api/v1/planned-sessions/{fact.planned_session_id}",
    }


def _old_sessions(sessions: list[MissedFact], facts: DigestFacts) -> OldSessions:
    return OldSessions(
        client=_line(sessions[0].client_name),
        count=len(sessions),
        first=_day(min(session.local_date for session in sessions)),
        last=_day(max(session.local_date for session in sessions)),
        mark=_mark(sessions[0].client_id, facts),
    )


def _mark(client_id: UUID, facts: DigestFacts) -> str:
    in_a_row = facts.missed_in_a_row.get(client_id, 0)
    return f"{in_a_row} missed in a row" if in_a_row >= facts.escalation_sessions else ""


def _day(day: date) -> str:
    return format_date(day, _DAY)


def _line(text: str) -> str:
    # A name with a line break could forge a line of the text part.
    return " ".join(text.split())
