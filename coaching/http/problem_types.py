"""The kinds of refusal that a caller can meet: the table behind `/docs/problems/`."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class ProblemType:
    """A documented kind of refusal."""

    code: str
    status: int
    title: str
    sentence: str
    registered: str = ""

    @property
    def uri(self) -> str:
        """What `type` holds: the address that a standard registered, or a stable path of our own."""
        return self.registered or f"/docs/problems/{self.code}"


_TYPES: Final = (
    ProblemType(
        "malformed",
        400,
        "The request can't be read",
        "The body is not one JSON object, or a header, host or cursor can't be read. "
        "Mend the place that `detail` names and send it again.",
    ),
    ProblemType(
        "invalid",
        400,
        "Some of what was sent can't be taken",
        "Each fault is listed in `errors` with a pointer to its place. Nothing was stored.",
    ),
    ProblemType(
        "unknown_object",
        400,
        "An id names nothing that you may see",
        "An id in the body or in a filter names no object of your business that you may see. "
        "List the objects to find the right id.",
    ),
    ProblemType(
        "unauthenticated",
        401,
        "Who is calling is not known",
        "Send `Authorization: Bearer …` with a session token (POST /api/v1/sessions) or an API key. "
        "An expired, revoked or unknown credential gets this same answer.",
    ),
    ProblemType(
        "forbidden",
        403,
        "Your role does not allow this",
        "The role of the person, or the scopes of the key, do not include this operation. "
        "GET /api/v1/me shows what they are.",
    ),
    ProblemType(
        "not_found",
        404,
        "There is nothing here",
        "The path is unknown, or the object that it names is not one that you may see.",
    ),
    ProblemType(
        "gone",
        410,
        "This is kept no longer",
        "A file that was made for you is deleted after a day. Ask for it again.",
    ),
    ProblemType(
        "method_not_allowed",
        405,
        "This method is not offered here",
        "The `Allow` header lists the methods that this path answers.",
    ),
    ProblemType(
        "not_acceptable",
        406,
        "None of the forms that you accept is offered",
        "Ask for `application/json`, or for one of the forms that the operation documents.",
    ),
    ProblemType(
        "conflict",
        409,
        "The present state forbids this",
        "`detail` says what stands in the way; `code` names it for programs.",
    ),
    ProblemType(
        "in_progress",
        409,
        "The same request is still running",
        "Another request under this Idempotency-Key has not ended. Send it again after `Retry-After` seconds.",
    ),
    ProblemType(
        "precondition_failed",
        412,
        "It was changed since you read it",
        "Read the object again, look at what changed, and send your change with its new ETag.",
    ),
    ProblemType(
        "too_large",
        413,
        "The body is too large",
        "Send at most 8 MiB; split a batch into several.",
    ),
    ProblemType(
        "unsupported_media_type",
        415,
        "The body must be JSON",
        "Send the body as UTF-8 JSON with `Content-Type: application/json`.",
    ),
    ProblemType(
        "unprocessable",
        422,
        "Refused as a whole",
        "An Idempotency-Key was used before with another body, or a strict batch holds a refused item. "
        "Nothing was stored.",
    ),
    ProblemType(
        "precondition_required",
        428,
        "Say which version you mean to change",
        "Send `If-Match` with the ETag of the object as you last read it.",
    ),
    ProblemType(
        "too_many",
        429,
        "Asked too often",
        "Send it again after `Retry-After` seconds.",
    ),
    ProblemType(
        "quota_exceeded",
        429,
        "The quota is used up",
        "`violated-policies` names what was asked for too often; `RateLimit-Policy` tells how much is admitted, and "
        "`RateLimit` on every answer how much is left. Send it again after `Retry-After` seconds.",
        registered="https://iana.org/assignments/http-problem-types#quota-exceeded",
    ),
    ProblemType(
        "server_error",
        500,
        "Something went wrong on our side",
        "The fault is logged under `request_id`. Nothing of this request was stored.",
    ),
    ProblemType(
        "unavailable",
        503,
        "The service is away for a moment",
        "The database can't be reached or is too busy. Send it again after `Retry-After` seconds; "
        "with an Idempotency-Key it can't happen twice.",
    ),
)

PROBLEM_TYPES: Final = {kind.code: kind for kind in _TYPES}
