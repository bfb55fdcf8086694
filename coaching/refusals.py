"""Refusals of the domain, by kind. The layer that finds one raises it; only `coaching.http.problems` knows statuses."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Self


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with what was sent.

    Attributes:
        pointer: where, as `#/set_logs/3/load_kg` in the body or `?limit` in the query.
        code: a stable word for programs.
        detail: a sentence that says what to change.
    """

    pointer: str
    code: str
    detail: str


class Refusal(Exception):  # noqa: N818 -- a refusal is an answer, not an error of ours
    """A request that the domain refuses; subclass one of the kinds below and set `code`.

    Attributes:
        detail: a sentence that says what to change.
        faults: each thing wrong, with its place.
        extra: further members of the answer, such as what there is to choose from.
    """

    code: ClassVar[str] = "refused"

    def __init__(self, detail: str, *, faults: Iterable[Fault] = (), extra: Mapping[str, Any] | None = None) -> None:
        super().__init__(detail)
        self.detail = detail
        self.faults = tuple(faults)
        self.extra = dict(extra or {})


class Invalid(Refusal):
    """What was sent can't be taken; every fault at once."""

    code = "invalid"

    @classmethod
    def at(cls, pointer: str, detail: str, code: str | None = None) -> Self:
        """Make a refusal of one fault."""
        return cls(detail, faults=[Fault(pointer, code or cls.code, detail)])


class UnknownObject(Invalid):
    """An id in a body or filter names nothing that the caller may see."""

    code = "unknown_object"


class NotFound(Refusal):
    """The object named in the path is not there, or not the caller's to see: the same answer."""

    code = "not_found"


class Forbidden(Refusal):
    """The caller's role lacks what was asked, and no object is named."""

    code = "forbidden"


class BadCredentials(Refusal):
    """The credential or password is not good; never says which part."""

    code = "unauthenticated"


class Gone(Refusal):
    """The object is there, and what was asked of it is kept no longer."""

    code = "gone"


class Conflict(Refusal):
    """The state of the object forbids it."""

    code = "conflict"


class PreconditionFailed(Refusal):
    """The object was changed since the version that the caller names."""

    code = "precondition_failed"


class PreconditionRequired(Refusal):
    """The caller must name the version that they mean to change."""

    code = "precondition_required"


class TooMany(Refusal):
    """The caller has asked too often; `retry_after_s` says when to ask again."""

    code = "too_many"

    def __init__(self, detail: str, *, retry_after_s: int) -> None:
        super().__init__(detail)
        self.retry_after_s = retry_after_s


class Unprocessable(Refusal):
    """Well-formed, and refused as a whole: a reused key, a strict batch."""

    code = "unprocessable"
