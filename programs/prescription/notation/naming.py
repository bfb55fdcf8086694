"""The exercise that a written name means."""

from programs.prescription.constants import KEY_MAX_CHARACTERS
from programs.prescription.names import Candidate, Catalogue, CatalogueName, exercise_slug
from programs.prescription.notation.characters import plain
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.quoting import unescaped
from programs.prescription.notation.remarks import Remarks


def read_name(word: Word, remarks: Remarks, catalogue: Catalogue | None) -> tuple[str, bool | None]:
    """Read a name as an exercise's key.

    Args:
        word: the name; in braces it is a key as it stands.
        remarks: where faults go.
        catalogue: what names are matched against; None makes a key of the spelling alone.

    Returns:
        The key, empty where the name says nothing; and whether the exercise's loads are said for each hand, None
        where that is not known. A name that was not found still gives the key of its spelling, beside the fault.
    """
    written = remarks.raw(word)
    if word.type == "EXACT":
        return _exact(_inside(written, "}"), word, remarks, catalogue)
    name = unescaped(_inside(written, '"')) if word.type == "STRING" else written
    found = None if catalogue is None else catalogue.match(name)
    if found is not None and found.entry is not None:
        return _found(name, found.entry, word, remarks, exact=found.exact)
    slug = exercise_slug(name)
    if not slug:
        remarks.error(word, "name", f"{name!r} names nothing; expected an exercise's name.")
    elif found is not None:
        _not_found(name, found.candidates, word, remarks)
    return slug, None


def _inside(written: str, mark: str) -> str:
    closed = len(written) > 1 and plain(written[-1]) == mark
    return written[1:-1] if closed else written[1:]


def _exact(written: str, word: Word, remarks: Remarks, catalogue: Catalogue | None) -> tuple[str, bool | None]:
    key = unescaped(written)
    if not 1 <= len(key) <= KEY_MAX_CHARACTERS:
        remarks.error(word, "name", f"A key has 1 to {KEY_MAX_CHARACTERS} characters.")
        return "", None
    entry = None if catalogue is None else catalogue.entries.get(key)
    if catalogue is not None and entry is None:
        remarks.error(word, "unknown_exercise", f"There is no exercise with the key {key!r}.")
    return key, _each_hand(entry)


def _found(name: str, entry: CatalogueName, word: Word, remarks: Remarks, *, exact: bool) -> tuple[str, bool | None]:
    if not exact:
        remarks.note(word, "name_read_as", f"{name!r} is read as {entry.name!r}.")
    return entry.key, _each_hand(entry)


def _not_found(name: str, candidates: tuple[Candidate, ...], word: Word, remarks: Remarks) -> None:
    if candidates:
        names = " or ".join(repr(candidate.name) for candidate in candidates)
        message = f"{name!r} is not a known name; choose {names}."
        remarks.error(word, "doubtful_exercise", message, candidates=candidates)
    else:
        remarks.error(word, "unknown_exercise", f"There is no exercise {name!r}, and none like it.")


def _each_hand(entry: CatalogueName | None) -> bool | None:
    if entry is None or entry.load_basis is None:
        return None
    return entry.load_basis == "each_hand"
