"""Who is calling, in which business: one middleware that opens the business's scope round the request."""

import binascii
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from datetime import datetime
from hmac import compare_digest
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from django.db import transaction
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone
from knox.auth import TokenAuthentication
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from coaching.actions.api_keys import PREFIX_CHARACTERS, USE_NOTED_EVERY, digest_of, note_use
from coaching.actions.sessions import note_session_use, session_id_of
from coaching.http.addresses import client_address
from coaching.http.problem_documents import CHALLENGE, Problem, problem_from
from coaching.http.rate_limits import admit
from coaching.http.refusal_notes import write_refusal_notes
from coaching.models.people import Role
from coaching.policy import OPERATIONS, OWN_SOURCE, Principal, Scope
from coaching.refusals import BadCredentials
from coaching.selectors.credentials import KeyRecord, find_active_member, find_key
from coaching.tenancy.scope import business_scope

MAX_CREDENTIAL_CHARACTERS: Final = 200
_KEY_PARTS: Final = 3
_NO_DIGEST: Final = "0" * 64
_IN_URL: Final = ("api_key", "access_token", "token")
_REFUSED: Final = "This credential is not good: it is unknown, expired or revoked."


@dataclass(frozen=True, slots=True)
class Identity:
    """A credential that checks out, before its business is entered."""

    business_id: UUID
    credential_id: UUID
    principal: Callable[[], Principal]


class BusinessMiddleware:
    """Innermost: runs an operation inside its caller's business, and rolls back what it refuses."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Pass on; the work is done once the view is known."""
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Any, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponseBase | None:
        """Answer an operation; other pages (docs, health) need no caller."""
        operations = getattr(getattr(view, "cls", None), "operations", None)
        if operations is None:
            return None
        try:
            response = _answer(request, operations, lambda: view(request, *args, **kwargs))
        except Exception as error:  # noqa: BLE001 -- a commit can fail too, and must be answered as a problem
            response = problem_from(error, request)
        response.headers.setdefault("Cache-Control", "no-store")
        return response


def _answer(request: HttpRequest, operations: dict[str, str], view: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    name = operations.get(request.method or "", "")
    operation = OPERATIONS.get(name)
    _refuse_credential_in_url(request)
    try:
        # Signing in with a stale token in hand must work, so such operations read none.
        identity = None if operation is not None and operation.anyone else _identify(request)
    except BadCredentials:
        # Whoever tries credentials out is counted by address.
        admit(request, name, None)
        raise
    admit(request, name, (identity.business_id, identity.credential_id) if identity else None)
    scope: AbstractContextManager[None] = nullcontext()
    if identity is not None:
        scope = business_scope(identity.business_id)
    with scope:
        request.principal = identity.principal() if identity else None  # type: ignore[attr-defined]  # read by OperationView
        response = view()
        render = getattr(response, "render", None)
        if render is not None:
            # While the business is still set: what an answer reads lazily is read here.
            render()
        if identity is not None and response.status_code >= HTTPStatus.BAD_REQUEST:
            transaction.set_rollback(True)
    if response.status_code >= HTTPStatus.BAD_REQUEST:
        write_refusal_notes(request)
    return response


def _refuse_credential_in_url(request: HttpRequest) -> None:
    if any(name in request.GET for name in _IN_URL):
        raise Problem(
            "malformed",
            "A credential in the address ends up in logs; send it as Authorization: Bearer instead.",
            code="credential_in_url",
        )


def _identify(request: HttpRequest) -> Identity | None:
    header = request.headers.get("Authorization")
    if header is None:
        return None
    scheme, _space, credential = header.strip().partition(" ")
    credential = credential.strip()
    if scheme.lower() != "bearer" or not _readable(credential):
        raise BadCredentials("Send Authorization: Bearer with a session token or an API key.")
    now = timezone.now()
    if credential.startswith("cp_"):
        return _identify_key(credential, now)
    return _identify_session(credential, client_address(request), now)


def _readable(credential: str) -> bool:
    return 0 < len(credential) <= MAX_CREDENTIAL_CHARACTERS and credential.isascii() and credential.isprintable()


def _identify_key(credential: str, now: datetime) -> Identity:
    parts = credential.split("_", _KEY_PARTS - 1)
    prefix = parts[1] if len(parts) == _KEY_PARTS and len(parts[1]) == PREFIX_CHARACTERS else ""
    key = find_key(prefix=prefix)
    digest = digest_of(credential)
    is_present = compare_digest(digest, key.digest if key else _NO_DIGEST)
    is_previous = compare_digest(digest, (key.previous_digest if key else "") or _NO_DIGEST)
    if key is None or not (is_present or is_previous) or _ended(key, now, is_previous=is_previous):
        raise BadCredentials(_REFUSED)
    used_at = key.previous_last_used_at if is_previous else key.last_used_at
    if used_at is None or used_at < now - USE_NOTED_EVERY:
        # In a transaction of its own: held for the length of a batch, the row would make the key's other
        # requests wait.
        with business_scope(key.business_id):
            note_use(key_id=key.id, now=now, digest=digest)
    principal = Principal(
        kind="key",
        business_id=key.business_id,
        credential_id=key.id,
        scopes=frozenset(Scope(scope) for scope in key.scopes),
        source=key.source,
        client_ids=None if key.client_ids is None else frozenset(key.client_ids),
    )
    return Identity(key.business_id, key.id, lambda: principal)


def _ended(key: KeyRecord, now: datetime, *, is_previous: bool) -> bool:
    if is_previous and (key.previous_ends_at is None or key.previous_ends_at <= now):
        return True
    if is_previous:
        return key.revoked_at is not None
    return key.revoked_at is not None or (key.expires_at is not None and key.expires_at <= now)


def _identify_session(credential: str, address: str, now: datetime) -> Identity:
    try:
        person, token = TokenAuthentication().authenticate_credentials(credential.encode())
    except (AuthenticationFailed, binascii.Error, UnicodeError):
        raise BadCredentials(_REFUSED) from None
    note_session_use(token=token, address=address, now=now)

    def principal() -> Principal:
        member = find_active_member(membership_id=token.membership_id)
        if member is None:
            raise BadCredentials(_REFUSED)
        return Principal(
            kind="person",
            business_id=token.business_id,
            credential_id=session_id_of(token),
            role=member.role,
            person_id=person.id,
            membership_id=token.membership_id,
            source=OWN_SOURCE if member.role == Role.CLIENT else "",
            needs_second_factor=member.needs_second_factor,
        )

    return Identity(token.business_id, session_id_of(token), principal)


class PrincipalAuthentication(BaseAuthentication):
    """Hands Django REST framework the caller whom the middleware found."""

    def authenticate(self, request: Request) -> tuple[Any, None] | None:
        """Return the principal as the request's user."""
        principal = getattr(request, "principal", None)
        return None if principal is None else (principal, None)

    def authenticate_header(self, _request: Request) -> str:
        """Return the challenge of a 401."""
        return CHALLENGE
