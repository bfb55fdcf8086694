"""Exercises by the names that coaches write: exactly through names and aliases, else by likeness, never by guess.

A name that only resembles another gives candidates to choose from. One slip of the pen in a long word is read
through, and said; nothing further is.
"""

import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final, Protocol

from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from programs.prescription.constants import KEY_MAX_CHARACTERS
from programs.prescription.vocabulary import LoadBasis

CANDIDATES_MAX: Final = 5
"""How many candidates a doubtful name is answered with. Practice."""

LIKENESS_MIN_PCT: Final = 60.0
"""The least likeness of a candidate, in percent. Practice."""

SLIP_WORD_MIN_CHARACTERS: Final = 5
"""The shortest word in which one slip is read through: shorter words become other words too easily. Practice."""

_ABBREVIATIONS: Final[Mapping[str, str]] = {"db": "dumbbell", "bb": "barbell", "kb": "kettlebell", "bw": "bodyweight"}
_PLURAL_MIN_CHARACTERS: Final = 3
_PLAIN_LETTERS: Final = {
    code: chr(code).lower() if chr(code).isalnum() else None if chr(code) == "'" else " " for code in range(128)
}
_OPPOSED: Final = frozenset({"abduction", "adduction", "abductor", "adductor", "abductors", "adductors"})


class NamedExercise(Protocol):
    """What a catalogue needs to know of an exercise."""

    @property
    def key(self) -> str:
        """The key by which documents name it."""

    @property
    def name(self) -> str:
        """Its name as shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogueName:
    """An exercise's names, and how its loads are said where that is known."""

    key: str
    name: str
    aliases: tuple[str, ...] = ()
    load_basis: LoadBasis | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """An exercise that a doubtful name may mean; ``likeness_pct`` runs from 0 to 100."""

    key: str
    name: str
    likeness_pct: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NameMatch:
    """What a written name means: ``entry``, or None with the candidates. ``exact`` is false after a slip."""

    entry: CatalogueName | None
    exact: bool = True
    candidates: tuple[Candidate, ...] = ()


def exercise_slug(name: str) -> str:
    """Give a name as a key: small letters and digits joined by hyphens, accents dropped. Empty if nothing is left.

    The same name always gives the same key, and a key gives itself.
    """
    return "-".join(_words(name))[:KEY_MAX_CHARACTERS].strip("-")


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Exercises to match names against. Make one with `Catalogue.of`."""

    entries: Mapping[str, CatalogueName]
    _forms: Mapping[str, tuple[str, ...]]
    _known_words: frozenset[str]
    _matches: dict[str, NameMatch] = field(default_factory=dict, compare=False)

    @classmethod
    def of(cls, exercises: "Catalogue | Iterable[NamedExercise] | Mapping[str, NamedExercise]") -> "Catalogue":
        """Make a catalogue of exercises with ``key`` and ``name``, and ``aliases`` and ``load_basis`` if they have any.

        Args:
            exercises: the exercises, or a mapping whose values they are, or a catalogue, which is given back.
        """
        if isinstance(exercises, Catalogue):
            return exercises
        listed = exercises.values() if isinstance(exercises, Mapping) else exercises
        entries = {entry.key: entry for entry in map(_entry, listed)}
        forms: dict[str, list[str]] = {}
        known: set[str] = set()
        for entry in entries.values():
            found, words = _entry_forms(entry)
            known |= words
            for form in found:
                forms.setdefault(form, []).append(entry.key)
        return cls(entries, {form: tuple(keys) for form, keys in forms.items()}, frozenset(known))

    def match(self, name: str) -> NameMatch:
        """Find what a written name means."""
        found = self._matches.get(name)
        if found is None:
            found = self._matches[name] = self._match(name)
        return found

    def _match(self, name: str) -> NameMatch:
        exact = self.entries.get(name)
        if exact is not None:
            return NameMatch(entry=exact)
        forms = _forms_of(name)
        for form in forms:
            keys = self._forms.get(form, ())
            if len(keys) == 1:
                return NameMatch(entry=self.entries[keys[0]])
            if keys:
                return NameMatch(entry=None, candidates=tuple(self._candidate(key, 100) for key in keys))
        return self._like(forms[0]) if forms else NameMatch(entry=None)

    def _like(self, written: str) -> NameMatch:
        likest = process.extract(
            written, self._forms.keys(), scorer=fuzz.WRatio, limit=4 * CANDIDATES_MAX, score_cutoff=LIKENESS_MIN_PCT
        )
        slips = {key for form, _, _ in likest if self._is_slip(written, form) for key in self._forms[form]}
        if len(slips) == 1:
            return NameMatch(entry=self.entries[slips.pop()], exact=False)
        best: dict[str, float] = {}
        for form, likeness, _ in likest:
            for key in self._forms[form]:
                best[key] = max(best.get(key, 0.0), likeness)
        ordered = sorted(best.items(), key=lambda item: (-item[1], item[0]))[:CANDIDATES_MAX]
        return NameMatch(entry=None, candidates=tuple(self._candidate(key, round(pct)) for key, pct in ordered))

    def _is_slip(self, written: str, form: str) -> bool:
        one, other = written.split(), form.split()
        if len(one) != len(other):
            return False
        unlike = [(word, meant) for word, meant in zip(one, other, strict=True) if word != meant]
        return len(unlike) == 1 and self._is_slip_of(*unlike[0])

    def _is_slip_of(self, word: str, meant: str) -> bool:
        # A word that the catalogue itself uses is no slip of another: "incline" is not a misspelt "decline".
        if word in self._known_words or word in _OPPOSED or not (word + meant).isalpha():
            return False
        long_enough = min(len(word), len(meant)) >= SLIP_WORD_MIN_CHARACTERS
        return long_enough and OSA.distance(word, meant, score_cutoff=1) <= 1

    def _candidate(self, key: str, likeness_pct: int) -> Candidate:
        return Candidate(key=key, name=self.entries[key].name, likeness_pct=likeness_pct)


def _entry(exercise: NamedExercise) -> CatalogueName:
    if isinstance(exercise, CatalogueName):
        return exercise
    return CatalogueName(
        key=exercise.key,
        name=exercise.name,
        aliases=tuple(getattr(exercise, "aliases", ())),
        load_basis=getattr(exercise, "load_basis", None),
    )


@lru_cache(maxsize=4096)
def _entry_forms(entry: CatalogueName) -> tuple[frozenset[str], frozenset[str]]:
    """Give every form under which an exercise is found, and the words of those."""
    forms = frozenset(form for name in (entry.key, entry.name, *entry.aliases) for form in _forms_of(name))
    return forms, frozenset(word for form in forms for word in form.split())


@lru_cache(maxsize=8192)
def _forms_of(name: str) -> tuple[str, ...]:
    """Give the forms under which a name is found: as written, its words in order of the alphabet, and run together."""
    words = tuple(_singular(_ABBREVIATIONS.get(word, word)) for word in _words(name))
    if not words:
        return ()
    return (" ".join(words), " ".join(sorted(words)), "".join(words))


def _singular(word: str) -> str:
    if len(word) >= _PLURAL_MIN_CHARACTERS and word.endswith("s") and not word.endswith("ss"):
        return word[:-1]
    return word


def _words(name: str) -> list[str]:
    if name.isascii():
        return name.translate(_PLAIN_LETTERS).split()
    return "".join(_letters(name)).split()


def _letters(name: str) -> Iterator[str]:
    folded = unicodedata.normalize("NFKD", name).casefold()
    for character in unicodedata.normalize("NFKD", folded):
        if character.isalnum():
            yield character
        elif character not in "'\u2019" and not unicodedata.combining(character):
            yield " "
