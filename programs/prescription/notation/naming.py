"""The exercise that a written name means."""

from programs.prescription.constants import KEY_MAX_CHARACTERS
from programs.prescription.names import Catalogue, NameMatch, exercise_slug
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
    slug = exercise_slug(name)
    if not slug:
        remarks.error(word, "name", f"{name!r} names nothing; expected an exercise's name.")
        return "", None
    if catalogue is None:
        return slug, None
    return _matched(name, slug, word, remarks, catalogue)


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
    return key, _each_hand(NameMatch(entry=entry))


def _matched(name: str, slug: str, word: Word, remarks: Remarks, catalogue: Catalogue) -> tuple[str, bool | None]:
    found = catalogue.match(name)
    if found.entry is not None:
        if not found.exact:
            remarks.note(word, "name_read_as", f"{name!r} is read as {found.entry.name!r}.")
        return found.entry.key, _each_hand(found)
    if found.candidates:
        names = " or ".join(repr(candidate.name) for candidate in found.candidates)
        message = f"{name!r} is not a known name; choose {names}."
        remarks.error(word, "doubtful_exercise", message, candidates=found.candidates)
    else:
        remarks.error(word, "unknown_exercise", f"There is no exercise {name!r}, and none like it.")
    return slug, None


def _each_hand(found: NameMatch) -> bool | None:
    if found.entry is None or found.entry.load_basis is None:
        return None
    return found.entry.load_basis == "each_hand"
