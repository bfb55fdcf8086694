"""Making, using and revoking the keys of programs."""

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
from coaching.refusals import Fault, Invalid, NotFound, UnknownObject

PREFIX_CHARACTERS: Final = 8
SECRET_BYTES: Final = 32
USE_NOTED_EVERY: Final = timedelta(minutes=1)
_ALPHABET: Final = "abcdefghijklmnopqrstuvwxyz0123456789"


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
    secret = f"cp_{prefix}_{secrets.token_urlsafe(SECRET_BYTES)}"
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


def revoke_api_key(*, key_id: UUID, now: datetime) -> None:
    """End a key; one already ended stays as it is.

    Raises:
        NotFound: the business has no such key.
    """
    ended = ApiKey.objects.filter(id=key_id, revoked_at=None).update(revoked_at=now)
    if not ended and not ApiKey.objects.filter(id=key_id).exists():
        raise NotFound("There is no such API key in this business.")


def note_use(*, key_id: UUID, now: datetime) -> None:
    """Write down that a key was used, at most once a minute."""
    recent = Q(last_used_at__gte=now - USE_NOTED_EVERY)
    ApiKey.objects.filter(id=key_id).exclude(recent).update(last_used_at=now)


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
