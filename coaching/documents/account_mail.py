"""Mails about an account: an invitation, a link to set a new password, and that it was set."""

from dataclasses import dataclass
from datetime import datetime
from email.utils import formataddr
from typing import Any, Final

from django.template.loader import render_to_string
from django.utils.dateformat import format as format_date

from coaching.models.people import Role
from coaching.registry import Rendered

AS_WHAT: Final = {
    Role.OWNER: "as an owner",
    Role.HEAD_COACH: "as head coach",
    Role.COACH: "as a coach",
    Role.VIEWER: "as a viewer, who reads what coaches show",
    Role.CLIENT: "as a client, to see your own plan and log what you do",
}


@dataclass(frozen=True, slots=True)
class InvitationFacts:
    """What an invitation says: to whom, from whom, as what, until when."""

    email: str
    business_name: str
    invited_by: str
    role: Role
    expires_at: datetime


def invitation_mail(facts: InvitationFacts, link: str) -> Rendered:
    """Write out an invitation."""
    business = _line(facts.business_name)
    context = {
        "business": business,
        "invited_by": _line(facts.invited_by),
        "as_what": AS_WHAT[facts.role],
        "until": _instant(facts.expires_at),
        "link": link,
    }
    return _mail("invitation", facts.email, f"{business} invites you", context)


def password_reset_mail(*, name: str, email: str, link: str) -> Rendered:
    """Write out the link to set a new password."""
    context = {"name": _line(name), "link": link}
    return _mail("password_reset", _named(name, email), "Set a new password", context)


def password_changed_mail(*, name: str, email: str, at: datetime) -> Rendered:
    """Say that the password was changed, so that whoever did not do it hears of it."""
    context = {"name": _line(name), "at": _instant(at)}
    return _mail("password_changed", _named(name, email), "Your password was changed", context)


def _mail(template: str, to: str, subject: str, context: dict[str, Any]) -> Rendered:
    return Rendered(
        to=to,
        subject=subject,
        text=render_to_string(f"coaching/mail/{template}.txt", context),
        html=render_to_string(f"coaching/mail/{template}.html", context),
    )


def _named(name: str, email: str) -> str:
    return formataddr((_line(name), email))


def _line(text: str) -> str:
    return " ".join(text.split())


def _instant(at: datetime) -> str:
    return f"{format_date(at, 'l j F Y, H:i')} UTC"
