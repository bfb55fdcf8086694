"""The note to a client after a missed session, as an email."""

from email.utils import formataddr

from django.template.loader import render_to_string
from django.utils.dateformat import format as format_date

from coaching.registry import Rendered
from logs.selectors.client_notes import MissedNoteFacts


def missed_note(facts: MissedNoteFacts) -> Rendered:
    """Write out a note: what has no log yet, no blame, and who to answer to."""
    coach, client = _line(facts.coach_name), _line(facts.client_name)
    context = {
        "client": client,
        "coach": coach,
        "business": _line(facts.business_name),
        "sessions": [
            {"title": _line(session.title), "day": format_date(session.local_date, "l j F")} for session in facts.missed
        ],
    }
    return Rendered(
        to=formataddr((client, facts.client_email)),
        subject=f"A short note from {context['business']}",
        text=render_to_string("logs/missed_note.txt", context),
        html=render_to_string("logs/missed_note.html", context),
        headers={"Reply-To": formataddr((coach, facts.coach_email))},
    )


def _line(text: str) -> str:
    return " ".join(text.split())
