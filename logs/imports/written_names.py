"""Exercises and clients by what a table calls them: exactly, or by a coach's word; never by likeness alone."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from rapidfuzz import fuzz, process

from logs.imports.typed_rows import Row
from programs.prescription.names import Candidate, Catalogue, exercise_slug

CLIENT_CANDIDATES_MAX: Final = 3
"""Clients offered for a name that is nobody's. Practice."""

CLIENT_LIKENESS_MIN_PCT: Final = 60.0
"""The least likeness of an offered client's name. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownClient:
    """A client whose logs the importer may write."""

    id: str
    name: str
    email: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenExercise:
    """An exercise as the table calls it.

    Attributes:
        written: the name, as it stands first.
        rows: how many rows have it.
        key: the exercise that is meant; None if that is open.
        load_basis: what its loads are of; empty if that is open.
        candidates: what it may mean.
        identity: what its sets are known again by: the exercise that the catalogue itself knows by this name, so
            that other spellings are the same sets; else the name, so that mapping it otherwise corrects them.
    """

    written: str
    rows: int
    key: str | None
    identity: str
    load_basis: str
    candidates: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenClient:
    """A client as the table calls them; ``client_id`` None if it is open who is meant."""

    written: str
    rows: int
    client_id: str | None
    candidates: tuple[KnownClient, ...]


def folded(text: str) -> str:
    """Return what two spellings of one name have in common."""
    return exercise_slug(text) or " ".join(text.casefold().split())


def written_exercises(
    rows: Iterable[Row], catalogue: Catalogue, exercise_map: Mapping[str, str]
) -> dict[str, WrittenExercise]:
    """Find what each written exercise means, by its folded name.

    A name that only resembles one is left open: a slip read wrongly would put years of sets under another lift.
    """
    said = {folded(name): key for name, key in exercise_map.items()}
    found = {}
    for fold, (written, count) in _counted(rows, "exercise").items():
        match = catalogue.match(written)
        exact = match.entry.key if match.entry is not None and match.exact else None
        key = said.get(fold) or exact
        slip = () if match.entry is None or match.exact else (
            Candidate(key=match.entry.key, name=match.entry.name, likeness_pct=99),
        )  # fmt: skip
        entry = catalogue.entries.get(key or "")
        found[fold] = WrittenExercise(
            written=written,
            rows=count,
            key=key,
            identity=exact or fold,
            load_basis=(entry.load_basis or "") if entry else "",
            candidates=() if key else (*slip, *match.candidates),
        )
    return found


def written_clients(
    rows: Iterable[Row], clients: Sequence[KnownClient], client_map: Mapping[str, str]
) -> dict[str, WrittenClient]:
    """Find who each written client is, by the folded name: by id, email or full name that only one has."""
    ids = {client.id for client in clients}
    by_text: dict[str, set[str]] = {}
    for client in clients:
        for text in (client.id, client.email, client.name):
            if text:
                by_text.setdefault(folded(text), set()).add(client.id)
    said = {folded(name): client_id for name, client_id in client_map.items()}
    found = {}
    for fold, (written, count) in _counted(rows, "client").items():
        named = by_text.get(fold, set())
        client_id = said.get(fold) or (next(iter(named)) if len(named) == 1 else None)
        known = client_id if client_id in ids else None
        found[fold] = WrittenClient(
            written=written, rows=count, client_id=known, candidates=() if known else _like(written, clients)
        )
    return found


def _counted(rows: Iterable[Row], name: str) -> dict[str, tuple[str, int]]:
    counts: Counter[str] = Counter()
    first: dict[str, str] = {}
    for row in rows:
        written = row.values.get(name)
        if written is not None:
            fold = folded(written)
            counts[fold] += 1
            first.setdefault(fold, written)
    return {fold: (first[fold], count) for fold, count in counts.items()}


def _like(written: str, clients: Sequence[KnownClient]) -> tuple[KnownClient, ...]:
    names = [client.name.casefold() for client in clients]
    likest = process.extract(
        written.casefold(),
        names,
        scorer=fuzz.WRatio,
        limit=CLIENT_CANDIDATES_MAX,
        score_cutoff=CLIENT_LIKENESS_MIN_PCT,
    )
    return tuple(clients[index] for _name, _pct, index in likest)
