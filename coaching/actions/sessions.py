"""Open sessions: how long they last, their rotation, and their end."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from knox.crypto import hash_token
from knox.models import get_digest_token
from knox.settings import CONSTANTS

from coaching.models.people import Person, SessionToken
from coaching.policy import Principal
from coaching.refusals import BadCredentials, NotFound
from coaching.selectors.sessions import list_session_tokens

IDLE_FOR: Final = timedelta(hours=12)
"""A session that is not used for so long has ended: one working day. Practice."""

LONGEST: Final = timedelta(days=14)
"""A session ends so long after its sign-in, however much it is used or rotated. Practice."""

MOST_OF_A_PERSON: Final = 100
"""Open sessions of one account, in all its businesses; the next ends the oldest. Practice."""

USE_NOTED_EVERY: Final = timedelta(minutes=10)
"""A session's use is written down, and its end put off, no more often than this."""


@dataclass(frozen=True, slots=True)
class Rotated:
    """A session's new token, shown once."""

    session_id: UUID
    token: str
    expires_at: datetime | None


def session_id_of(token: SessionToken) -> UUID:
    """Return the id under which a session is listed and counted; its digest is never shown."""
    session_id: UUID = token.session_id
    return session_id


def open_session(
    *, person: Person, business_id: UUID, membership_id: UUID, address: str | None
) -> tuple[SessionToken, str]:
    """Make a session's row; return it with the token, which is kept nowhere. One too many ends the oldest."""
    made: tuple[SessionToken, str] = SessionToken.objects.create(
        user=person, expiry=IDLE_FOR, business_id=business_id, membership_id=membership_id, address=address
    )
    newest_first = SessionToken.objects.filter(user=person).order_by("-created", "-digest")
    too_many = list(newest_first.values_list("digest", flat=True)[MOST_OF_A_PERSON:])
    if too_many:
        SessionToken.objects.filter(digest__in=too_many).delete()
    return made


def note_session_use(*, token: SessionToken, address: str | None, now: datetime) -> None:
    """Put off the end of a session that is used, up to its longest, and write down when and from where.

    In a transaction of its own, by the digest: a session that was rotated or ended meanwhile stays so.
    """
    if now - token.last_used_at < USE_NOTED_EVERY or token.expiry is None:
        return
    expiry = min(now + IDLE_FOR, token.created + LONGEST)
    SessionToken.objects.filter(digest=token.digest).update(last_used_at=now, address=address, expiry=expiry)


def rotate_session(*, actor: Principal, presented: str, now: datetime) -> Rotated:
    """Exchange the token of the caller's session; the one presented is refused from then on.

    At once, without a time in which both are good: a copy of the old one must be worth nothing. Whoever loses the
    answer signs in again. The session keeps its id, its place in the list, and the end of its longest time.

    Raises:
        BadCredentials: another request rotated or ended it meanwhile.
    """
    rows = SessionToken.objects.filter(session_id=actor.credential_id, digest=hash_token(presented))
    row = rows.first()
    digest, token = get_digest_token()
    expiry = None if row is None else min(now + IDLE_FOR, row.created + LONGEST)
    # By the digest presented: of two who rotate the same token, one does.
    if not rows.update(digest=digest, token_key=token[: CONSTANTS.TOKEN_KEY_LENGTH], expiry=expiry, last_used_at=now):
        raise BadCredentials("This session has ended or was rotated; sign in again.")
    return Rotated(actor.credential_id, token, expiry)


def end_session(*, membership_id: UUID, session_id: UUID) -> None:
    """End one of a membership's sessions.

    Raises:
        NotFound: it has no such session.
    """
    if not list_session_tokens(membership_id=membership_id).filter(session_id=session_id).delete()[0]:
        raise NotFound("You have no such session.")


def end_other_sessions(*, actor: Principal) -> None:
    """End the caller's other sessions in this business."""
    SessionToken.objects.filter(membership_id=actor.membership_id).exclude(session_id=actor.credential_id).delete()


def end_other_sessions_of_person(*, actor: Principal) -> None:
    """End the other sessions of the caller's account, in every business."""
    SessionToken.objects.filter(user=actor.person_id).exclude(session_id=actor.credential_id).delete()


def forget_ended_sessions(*, now: datetime) -> None:
    """Delete the rows of sessions whose time is over."""
    SessionToken.objects.filter(expiry__lt=now).delete()
