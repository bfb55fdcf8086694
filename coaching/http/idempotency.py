"""The Idempotency-Key of a POST: the same key and body replays the answer, in the request's transaction."""

import re
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

from coaching.actions.idempotency import KeptAnswer, find_answer, keep_answer, lock_idempotency_key
from coaching.http.problem_documents import Problem
from coaching.policy import Principal
from coaching.refusals import Unprocessable

HEADER: Final = "Idempotency-Key"
# A structured-field string, so quoted; bare ones are as common and as clear.
_KEY: Final = re.compile(r'"([\x21\x23-\x5b\x5d-\x7e]{1,255})"|([\x21\x23-\x5b\x5d-\x7e]{1,255})')
_ID: Final = re.compile(rb"[0-9a-fA-F]{8}-(?:[0-9a-fA-F]{4}-){3}[0-9a-fA-F]{12}")
# Of a request: what is longer is a batch, and its answer names whom it says anything of.
_READ_BYTES: Final = 262_144
_KEPT_HEADERS: Final = ("Content-Type", "Location", "ETag", "Preference-Applied")


class KeyReused(Unprocessable):
    """The key was used before for something else."""

    code = "idempotency_key_reused"


@dataclass(frozen=True, slots=True)
class Claim:
    """A key taken for this request, or the answer that it was given before."""

    credential_id: UUID
    key: str
    fingerprint: str
    replay: HttpResponse | None
    named: frozenset[UUID] = frozenset()

    def keep(self, response: Any, *, kept: tuple[int, bytes] | None = None) -> None:
        """Keep a 2xx answer; anything else is evaluated again on a retry."""
        if self.replay is not None or not HTTPStatus.OK <= response.status_code < HTTPStatus.MULTIPLE_CHOICES:
            return
        status, body = kept or (response.status_code, response.content)
        headers = {name: response.headers[name] for name in _KEPT_HEADERS if name in response.headers}
        named = self.named | _ids_in(body) | _ids_in("\n".join(headers.values()).encode())
        answer = KeptAnswer(self.fingerprint, status, headers, body, named)
        keep_answer(credential_id=self.credential_id, key=self.key, answer=answer)


def claim_key(request: HttpRequest, principal: Principal | None, *, accepted: bool) -> Claim | None:
    """Take the key that a POST brings; None without one.

    Raises:
        Problem: the operation takes no key, the key can't be read, or it is still running.
        KeyReused: another request was made under it.
    """
    header = request.headers.get(HEADER)
    if header is None:
        return None
    if not accepted or principal is None:
        raise Problem(
            "malformed",
            "This operation takes no Idempotency-Key, for its answer shows a secret; leave the header out.",
            code="idempotency_key_not_taken",
        )
    key = _read_key(header)
    if not lock_idempotency_key(credential_id=principal.credential_id, key=key):
        raise Problem("in_progress", headers={"Retry-After": "1"})
    fingerprint = _fingerprint(request)
    answer = find_answer(credential_id=principal.credential_id, key=key)
    if answer is not None and answer.fingerprint != fingerprint:
        raise KeyReused("This Idempotency-Key was used for another request; make a new one for this body.")
    named = _ids_in(request.get_full_path().encode()) | _ids_in(request.body[:_READ_BYTES])
    return Claim(principal.credential_id, key, fingerprint, _replay(answer), named)


def _read_key(header: str) -> str:
    match = _KEY.fullmatch(header.strip())
    if match is None:
        raise Problem("malformed", "An Idempotency-Key is 1 to 255 visible ASCII characters, such as a UUID.")
    return match[1] or match[2]


def _ids_in(text: bytes) -> frozenset[UUID]:
    return frozenset(UUID(found.decode()) for found in _ID.findall(text))


def _fingerprint(request: HttpRequest) -> str:
    # Keyed: a body may hold a password, which a plain digest would let whoever has the database guess.
    return salted_hmac(
        "coaching.idempotency",
        f"{request.method} {request.get_full_path()}\n".encode() + request.body,
        algorithm="sha256",
    ).hexdigest()


def _replay(answer: KeptAnswer | None) -> HttpResponse | None:
    if answer is None:
        return None
    return HttpResponse(answer.body, status=answer.status, headers={**answer.headers, "Idempotency-Replayed": "true"})
