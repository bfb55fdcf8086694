"""Making, using, exchanging and revoking the keys of programs."""

import hashlib
import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.db.models import Q

from coaching.models.clients import Client
from coaching.models.credentials import ApiKey
from coaching.policy import Scope
from coaching.refusals import Conflict, Fault, Invalid, NotFound, UnknownObject

PREFIX_CHARACTERS: Final = 8
SECRET_BYTES: Final = 32
MAX_OVERLAP_H: Final = 168
USE_NOTED_EVERY: Final = timedelta(minutes=1)
_ALPHABET: Final = "abcdefghijklmnopqrstuvwxyz0123456789"


class KeyEnded(Conflict):
    """The key was revoked, or has expired."""

    code = "key_ended"


def digest_of(secret: str) -> str:
    """Return what is kept of a key: a fast hash is right for 256 random bits."""
    return hashlib.sha256(secret.encode()).hexdigest()


def create_api_key(
    *,
    created_by: UUID | None,
    name: str,
    scopes: Sequence[str],
    source: str = "",
    client_ids: Sequence[UUID] | None = None,
    expires_at: datetime | None = None,
) -> tuple[ApiKey, str]:
    """Make a key and return it with its secret, which is never to be seen again.

    Raises:
        Invalid: a scope is unknown, or a key that writes logs names no source.
        UnknownObject: a client is not one of the business.
    """
    _check_scopes(scopes, source)
    _check_clients(client_ids)
    prefix = "".join(secrets.choice(_ALPHABET) for _ in range(PREFIX_CHARACTERS))
    secret = _new_secret(prefix)
    key = ApiKey.objects.create(
        name=name,
        prefix=prefix,
        digest=digest_of(secret),
        scopes=sorted(set(scopes)),
        source=source,
        client_ids=None if client_ids is None else sorted(set(client_ids)),
        created_by_id=created_by,
        expires_at=expires_at,
    )
    return key, secret


def rotate_api_key(*, key_id: UUID, overlap_h: int, now: datetime, **expiry: datetime | None) -> str:
    """Give a key a new secret and return it; the one before stays good for the overlap, an older one ends now.

    Args:
        key_id: the key, which keeps its name, scopes, clients and source.
        overlap_h: how long the secret before stays good, though never past its own expiry.
        now: the present instant.
        expiry: `expires_at`, where the key is to end at another instant than before.

    Raises:
        NotFound: the business has no such key.
        KeyEnded: it was revoked, or has expired.
    """
    key = ApiKey.objects.select_for_update().filter(id=key_id).first()
    if key is None:
        raise NotFound("There is no such API key in this business.")
    if key.revoked_at is not None or (key.expires_at is not None and key.expires_at <= now):
        raise KeyEnded("This key has ended; make a new one.")
    secret, expires_at = _new_secret(key.prefix), expiry.get("expires_at", key.expires_at)
    key.previous_digest, key.digest = key.digest, digest_of(secret)
    key.previous_last_used_at, key.last_used_at = key.last_used_at, None
    ends = (now + timedelta(hours=overlap_h), key.expires_at, expires_at)
    key.previous_ends_at = min(end for end in ends if end is not None)
    key.rotated_at, key.expires_at = now, expires_at
    key.save()
    return secret


def revoke_api_key(*, key_id: UUID, now: datetime) -> None:
    """End a key with each of its secrets; one already ended stays as it is.

    Raises:
        NotFound: the business has no such key.
    """
    ended = ApiKey.objects.filter(id=key_id, revoked_at=None).update(revoked_at=now)
    if not ended and not ApiKey.objects.filter(id=key_id).exists():
        raise NotFound("There is no such API key in this business.")


def note_use(*, key_id: UUID, now: datetime, digest: str) -> None:
    """Write down that one of a key's secrets was used, at most once a minute.

    Which one it is now: a rotation may have come between.
    """
    for field, place in (("digest", "last_used_at"), ("previous_digest", "previous_last_used_at")):
        recent = Q(**{f"{place}__gte": now - USE_NOTED_EVERY})
        ApiKey.objects.filter(id=key_id, **{field: digest}).exclude(recent).update(**{place: now})


def _new_secret(prefix: str) -> str:
    return f"cp_{prefix}_{secrets.token_urlsafe(SECRET_BYTES)}"


def _check_scopes(scopes: Sequence[str], source: str) -> None:
    unknown = sorted(set(scopes) - {scope.value for scope in Scope})
    if unknown or not scopes:
        raise Invalid.at("#/scopes", f"Scopes are some of {', '.join(Scope)}.", "unknown_scope")
    if Scope.LOGS_WRITE in scopes and not source:
        sentence = "A key that writes logs needs a source: the name under which its logs are filed."
        raise Invalid.at("#/source", sentence, "required")


def _check_clients(client_ids: Sequence[UUID] | None) -> None:
    if client_ids is None:
        return
    known = set(Client.objects.filter(id__in=client_ids).values_list("id", flat=True))
    faults = [
        Fault(f"#/client_ids/{index}", UnknownObject.code, "There is no such client in this business.")
        for index, client_id in enumerate(client_ids)
        if client_id not in known
    ]
    if faults:
        raise UnknownObject(faults[0].detail, faults=faults)
