"""Written sessions, read against the names of the business's exercises."""

from dataclasses import dataclass
from typing import cast

from programs.models import Exercise
from programs.prescription.names import Catalogue, CatalogueName
from programs.prescription.notation import ParseResult, parse_session, print_session
from programs.prescription.progression_notation import ReadProgression, parse_progression, print_progression
from programs.prescription.vocabulary import LoadBasis


@dataclass(frozen=True, slots=True)
class WrittenSession:
    """A text as read, and the session written back as the service writes it; None where the text has errors."""

    result: ParseResult
    written: str | None


def read_written_session(text: str) -> WrittenSession:
    """Read a session as coaches write it, with one query for the names."""
    catalogue = list_exercise_names()
    result = parse_session(text, catalogue)
    if result.has_errors:
        return WrittenSession(result, None)
    shown = {key: entry.name for key, entry in catalogue.entries.items()}
    return WrittenSession(result, print_session(result.session, shown))


@dataclass(frozen=True, slots=True)
class WrittenProgression:
    """Rules as read, and as the service writes them; None where the text has errors."""

    result: ReadProgression
    written: str | None


def read_written_progression(text: str) -> WrittenProgression:
    """Read a progression as coaches write it; nothing is queried."""
    result = parse_progression(text)
    return WrittenProgression(result, None if result.has_errors else print_progression(result.rules))


def list_exercise_names() -> Catalogue:
    """Return every name of the business's exercises, to match written ones against."""
    rows = Exercise.objects.filter(merged_into__isnull=True).values_list("key", "name", "aliases", "load_basis")
    return Catalogue.of(
        CatalogueName(key=key, name=name, aliases=tuple(aliases), load_basis=cast("LoadBasis", load_basis))
        for key, name, aliases, load_basis in rows
    )
