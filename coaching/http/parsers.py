"""JSON as strictly as two programs must read it to agree: one object, no key twice, no NaN, no NUL."""

import json
from collections.abc import Mapping
from typing import Any, Final

import orjson
from rest_framework.parsers import BaseParser

from coaching.http.problem_documents import Problem
from coaching.refusals import Fault

MAX_DEPTH: Final = 32
MAX_ITEMS: Final = 5_000
MAX_MEMBERS: Final = 500
MAX_COLONS: Final = 200_000
MAX_KEY_CHARACTERS: Final = 200
MAX_TEXT_CHARACTERS: Final = 100_000
_CONTAINERS: Final = (dict, list)


class StrictJSONParser(BaseParser):
    """Parses `application/json` bodies."""

    media_type = "application/json"

    def parse(self, stream: Any, _media_type: str | None = None, _context: Mapping[str, Any] | None = None) -> Any:
        """Read one object.

        Raises:
            Problem: the body is not one JSON object that every reader reads alike.
        """
        return decode_object(stream.read())


def decode_object(body: bytes) -> dict[str, Any]:
    """Read a body as one JSON object.

    Duplicate keys are found without a slow parser: written again, the document has as many colons as it came
    with unless a key was dropped, since colons are never escaped on writing (and a body that escapes its own
    is read by the slow one).

    Raises:
        Problem: it is malformed, or larger in some way than any real body; the detail names the place or the bound.
    """
    check_members(body)
    try:
        document = orjson.loads(body)
    except orjson.JSONDecodeError as error:
        raise Problem("malformed", _syntax_sentence(error)) from None
    if not isinstance(document, dict):
        raise Problem("malformed", "The body must be one JSON object, in braces.")
    _check_shape(document)
    if len(body) > MAX_TEXT_CHARACTERS:
        _check_length(document)
    if body.count(b":") != orjson.dumps(document).count(b":") or _may_hide_a_colon(body):
        _check_keys(body)
    if b"\\u0000" in body:
        _check_text(document, "#")
    return document


def _syntax_sentence(error: orjson.JSONDecodeError) -> str:
    return f"The body is not JSON: line {error.lineno}, column {error.colno}: {error.msg}."


def check_members(body: bytes) -> None:
    """Refuse a body of more members than any real one has, before each of them is answered with a fault.

    Raises:
        Problem: there are too many.
    """
    if body.count(b":") > MAX_COLONS:
        raise Problem("too_large", f"The body has more than {MAX_COLONS:,} members; send it in parts.")


def _check_shape(document: dict[str, Any]) -> None:
    level: list[Any] = [document]
    depth = 0
    while level:
        depth += 1
        if depth > MAX_DEPTH:
            raise Problem("malformed", f"The body is nested deeper than {MAX_DEPTH} levels; flatten it.")
        for container in level:
            _check_size(container)
        level = [
            value
            for container in level
            for value in (container.values() if type(container) is dict else container)
            if type(value) in _CONTAINERS
        ]


def _check_size(container: Any) -> None:
    if type(container) is list:
        if len(container) > MAX_ITEMS:
            sentence = f"A list holds at most {MAX_ITEMS:,} items; send these {len(container):,} in parts."
            raise Problem("invalid", sentence, code="too_many", faults=[Fault("#", "too_many", sentence)])
        return
    if len(container) > MAX_MEMBERS:
        raise Problem("too_large", f"An object has at most {MAX_MEMBERS} members.")
    if any(len(key) > MAX_KEY_CHARACTERS for key in container):
        raise Problem("malformed", f"A key is at most {MAX_KEY_CHARACTERS} characters long.")


def _check_length(value: Any) -> None:
    if type(value) is str and len(value) > MAX_TEXT_CHARACTERS:
        raise Problem("too_large", f"A text is at most {MAX_TEXT_CHARACTERS:,} characters long.")
    if type(value) is dict:
        value = list(value.values())
    if type(value) is list:
        for inner in value:
            _check_length(inner)


def _may_hide_a_colon(body: bytes) -> bool:
    return b"\\u003" in body


def _check_keys(body: bytes) -> None:
    faults: list[Fault] = []

    def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        seen: set[str] = set()
        for key, _value in pairs:
            if key in seen:
                sentence = f"The key {key!r} stands twice in one object; keep one."
                faults.append(Fault("#", "duplicate_key", sentence))
            seen.add(key)
        return dict(pairs)

    json.loads(body, object_pairs_hook=unique)
    if faults:
        raise Problem("malformed", faults[0].detail, code="duplicate_key", faults=faults)


def _check_text(value: Any, pointer: str) -> None:
    if isinstance(value, str) and "\x00" in value:
        sentence = "Text can't hold the NUL character; leave it out."
        raise Problem("malformed", sentence, code="nul_in_text", faults=[Fault(pointer, "nul_in_text", sentence)])
    if isinstance(value, dict):
        for key, inner in value.items():
            _check_text(key, pointer)
            _check_text(inner, f"{pointer}/{key}")
    if isinstance(value, list):
        for index, inner in enumerate(value):
            _check_text(inner, f"{pointer}/{index}")
