"""The query parameters that an operation takes: declared once, for reading, refusing and documentation."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, Literal
from uuid import UUID

from django.http import QueryDict

from coaching.http.unknown_fields import nearest
from coaching.refusals import Fault, Invalid

Kind = Literal["text", "uuid", "date", "integer", "boolean"]


@dataclass(frozen=True, slots=True)
class QueryParameter:
    """A query parameter.

    Attributes:
        name: as it stands in the query.
        description: for the documentation.
        kind: what its text is read as.
        choices: the only values admitted.
        many: several values, comma-separated, read as a tuple.
        required: refuse the request without it.
        default: the value when it is left out.
        minimum: the least integer.
        maximum: the greatest integer, or the longest text.
    """

    name: str
    description: str
    kind: Kind = "text"
    choices: tuple[str, ...] = ()
    many: bool = False
    required: bool = False
    default: Any = None
    minimum: int | None = None
    maximum: int | None = None

    @property
    def pointer(self) -> str:
        """Where a fault in it lies."""
        return f"?{self.name}"

    def read(self, text: str) -> Any:
        """Read its text.

        Raises:
            ValueError: with the sentence that says what to change.
        """
        if self.many:
            parts = [part.strip() for part in text.split(",") if part.strip()]
            if len(parts) > MAX_VALUES:
                raise ValueError(f"{self.name} takes at most {MAX_VALUES} values, not {len(parts)}.")
            return tuple(map(self._read_one, parts))
        return self._read_one(text)

    def _read_one(self, text: str) -> Any:
        if self.choices and text not in self.choices:
            raise ValueError(f"{self.name} is one of {', '.join(self.choices)}, not {text[:60]!r}.")
        value = _READERS[self.kind](self.name, text)
        if self.kind == "integer":
            self._check_range(value)
        if self.kind == "text" and len(value) > (self.maximum or MAX_TEXT_CHARACTERS):
            raise ValueError(f"{self.name} is at most {self.maximum or MAX_TEXT_CHARACTERS} characters long.")
        return value

    def _check_range(self, value: int) -> None:
        if (self.minimum is not None and value < self.minimum) or (self.maximum is not None and value > self.maximum):
            raise ValueError(f"{self.name} is a whole number from {self.minimum} to {self.maximum}, not {value}.")


MAX_TEXT_CHARACTERS: Final = 200
MAX_VALUES: Final = 100
CURSOR: Final = QueryParameter("cursor", "Where the page starts: take it from `next`, as it is.", maximum=2000)
LIMIT: Final = QueryParameter("limit", "Items a page, 1 to 200.", kind="integer", minimum=1, maximum=200, default=50)


def read_query(query: QueryDict, parameters: Iterable[QueryParameter]) -> dict[str, Any]:
    """Read a query by its declaration; every fault at once.

    Raises:
        Invalid: a parameter is unknown, stands twice, is missing or can't be read.
    """
    declared = {parameter.name: parameter for parameter in parameters}
    faults = [_unknown(name, declared) for name in query if name not in declared][:MAX_VALUES]
    values: dict[str, Any] = {}
    for parameter in declared.values():
        try:
            values[parameter.name] = _value(parameter, query)
        except ValueError as error:
            faults.append(Fault(parameter.pointer, "invalid", str(error)))
    if faults:
        raise Invalid(faults[0].detail, faults=faults)
    return values


def _unknown(name: str, declared: Mapping[str, QueryParameter]) -> Fault:
    return Fault(
        f"?{name[:60]}",
        "unknown_parameter",
        f"There is no query parameter {name[:60]!r} here.{nearest(name[:60], declared)}",
    )


def _value(parameter: QueryParameter, query: QueryDict) -> Any:
    sent = query.getlist(parameter.name)
    if len(sent) > 1:
        raise ValueError(f"{parameter.name} stands {len(sent)} times; give it once.")
    if not sent:
        if parameter.required:
            raise ValueError(f"{parameter.name} is missing; add it to the query.")
        return parameter.default
    if "\x00" in sent[0]:
        raise ValueError(f"{parameter.name} can't hold the NUL character.")
    return parameter.read(sent[0])


def _read_uuid(name: str, text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise ValueError(f"{name} is an id (a UUID), not {text[:60]!r}.") from None


def _read_date(name: str, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{name} is a date as YYYY-MM-DD, not {text[:60]!r}.") from None


def _read_integer(name: str, text: str) -> int:
    digits = text.removeprefix("-")
    if not (digits.isascii() and digits.isdigit() and len(digits) < _LONGEST_INTEGER):
        raise ValueError(f"{name} is a whole number, not {text[:60]!r}.")
    return int(text)


def _read_boolean(name: str, text: str) -> bool:
    if text not in {"true", "false"}:
        raise ValueError(f"{name} is true or false, not {text[:60]!r}.")
    return text == "true"


_LONGEST_INTEGER: Final = 10
_READERS: Final[Mapping[str, Callable[[str, str], Any]]] = {
    "text": lambda _name, text: text,
    "uuid": _read_uuid,
    "date": _read_date,
    "integer": _read_integer,
    "boolean": _read_boolean,
}
