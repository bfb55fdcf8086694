"""Prescriptions read against the business's catalogue: documents in, structures and analyses out."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any
from uuid import UUID

import orjson

from coaching.models import Business, Client
from coaching.policy import Principal
from coaching.refusals import Fault, Invalid
from coaching.tenancy.scope import current_business_id
from programs.models import Version
from programs.prescription.document import (
    DocumentError,
    decode_version,
    encode_version,
)
from programs.prescription.structure import (
    Block,
    ExerciseFacts,
    Session,
    VersionContent,
)
from programs.selectors.exercises import exercise_facts, list_exercise_keys
from programs.selectors.visible_clients import get_named_client


class InvalidPrescription(Invalid):
    """A document that nobody could follow; every fault with its place."""

    code = "invalid_prescription"


@dataclass(frozen=True, slots=True)
class ReadContent:
    """A version's content as it is stored: the document with every exercise by its key, and its hash."""

    content: VersionContent
    document: dict[str, Any]
    content_hash: str
    facts: Mapping[str, ExerciseFacts]


def read_content(document: object, *, pointer: str) -> ReadContent:
    """Read a version's content and name its exercises by key.

    Args:
        document: the content as sent.
        pointer: where it stands in the body, such as `#/content`.

    Raises:
        InvalidPrescription: with every fault of shape and structure, or every unknown exercise.
    """
    try:
        content = decode_version(document)
    except DocumentError as error:
        raise refused_document(error, pointer) from None
    facts = exercise_facts(content.exercises)
    check_exercises(_exercise_places(content, pointer), facts)
    named = named_by_key(content, facts)
    written = encode_version(named)
    return ReadContent(
        content=named,
        document=written,
        content_hash=content_hash(written),
        facts={found.key: found for found in facts.values()},
    )


def content_hash(document: Mapping[str, Any]) -> str:
    """Return the SHA-256 of a document's canonical JSON: sorted keys, no white space, UTF-8."""
    return hashlib.sha256(orjson.dumps(document, option=orjson.OPT_SORT_KEYS)).hexdigest()


def stored_content(version: Version) -> tuple[VersionContent, dict[str, ExerciseFacts]]:
    """Return a stored version's structure, and what is known of its exercises, by key.

    Exercises that were merged since it was written have become those that they were merged into.
    """
    content = decode_version(version.content)
    facts = exercise_facts(content.exercises)
    return named_by_key(content, facts), {found.key: found for found in facts.values()}


def client_minutes(actor: Principal, client_id: UUID | None) -> int | None:
    """Return the minutes that a client has for a session, else the business's usual ones; None if no client is named.

    Raises:
        UnknownObject: no such client that the caller may see.
    """
    if client_id is None:
        return None
    return usual_minutes(get_named_client(actor=actor, client_id=client_id, pointer="#/client"))


def usual_minutes(client: Client) -> int:
    """Return the minutes that a client has for a session, else the business's usual ones."""
    if client.session_min is not None:
        return client.session_min
    return Business.objects.values_list("default_session_min", flat=True).get(id=current_business_id())


def refused_document(error: DocumentError, pointer: str) -> InvalidPrescription:
    """Return the refusal of a document, its faults placed where it stands in the body."""
    faults = [Fault(pointer + fault.pointer.removeprefix("#"), fault.code, fault.message) for fault in error.faults]
    return InvalidPrescription(f"{faults[0].pointer}: {faults[0].detail}", faults=faults)


def check_exercises(places: Iterable[tuple[str, str]], facts: Mapping[str, ExerciseFacts]) -> None:
    """Refuse exercises that the business does not have, each at its place, with near names.

    Raises:
        InvalidPrescription: with every unknown exercise.
    """
    unknown = [(place, reference) for place, reference in places if reference not in facts]
    if not unknown:
        return
    known = list_exercise_keys()
    faults = [Fault(place, "unknown_exercise", _unknown_exercise(name, known)) for place, name in unknown]
    raise InvalidPrescription(f"{faults[0].pointer}: {faults[0].detail}", faults=faults)


def _unknown_exercise(name: str, known: list[str]) -> str:
    near = get_close_matches(name.lower().replace(" ", "-"), known, n=3, cutoff=0.6)
    hint = f" Did you mean {' or '.join(near)}?" if near else " GET /api/v1/exercises lists them."
    return f"There is no exercise {name!r}.{hint}"


def _exercise_places(content: VersionContent, pointer: str) -> Iterable[tuple[str, str]]:
    for week_index, week in enumerate(content.weeks):
        for day_index, day in enumerate(week.days):
            yield from session_places(day.session, f"{pointer}/weeks/{week_index}/days/{day_index}")


def session_places(session: Session, pointer: str) -> Iterable[tuple[str, str]]:
    """Give every exercise that a session names, with its place."""
    for index, block in enumerate(session.blocks):
        place = f"{pointer}/blocks/{index}"
        if block.entry is not None:
            yield f"{place}/entry/exercise", block.entry.exercise
        for slot_index, slot in enumerate(block.slots):
            yield f"{place}/slots/{slot_index}/exercise", slot.exercise


def named_by_key(content: VersionContent, facts: Mapping[str, ExerciseFacts]) -> VersionContent:
    """Name a content's exercises by the keys that they have by now; those without facts stay as they are named."""

    def key_of(name: str) -> str:
        return facts[name].key if name in facts else name

    def named_block(block: Block) -> Block:
        entry = block.entry
        return replace(
            block,
            slots=tuple(replace(slot, exercise=key_of(slot.exercise)) for slot in block.slots),
            entry=None if entry is None else replace(entry, exercise=key_of(entry.exercise)),
        )

    def named_session(session: Session) -> Session:
        return replace(session, blocks=tuple(named_block(block) for block in session.blocks))

    return replace(
        content,
        weeks=tuple(
            replace(week, days=tuple(replace(day, session=named_session(day.session)) for day in week.days))
            for week in content.weeks
        ),
    )
