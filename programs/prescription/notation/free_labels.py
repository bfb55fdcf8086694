"""Labels and keys for what was written without one."""

from collections.abc import Iterator
from itertools import count
from string import ascii_uppercase

from programs.prescription.notation.labels import is_simple_label


class FreeLabels:
    """Gives labels that nothing has yet.

    What is taken stays so: each search goes on where the last one ended, so that ten thousand lines without a label
    cost ten thousand steps.
    """

    def __init__(self, taken: set[str]) -> None:
        self.taken = taken
        self._places = {False: _letters(), True: _letters()}
        self._at = {numbered: next(letters) for numbered, letters in self._places.items()}
        self._numbers: dict[str, Iterator[int]] = {}

    def label(self) -> str:
        """Give the first free letters, and take them."""
        found = self._first(numbered=False)
        self.taken.add(found)
        return found

    def stem(self, label: str) -> str:
        """Give the label itself where keys can be numbered under it, else letters whose numbers are free."""
        return label if is_simple_label(label) else self._first(numbered=True)

    def key(self, stem: str) -> str:
        """Give the next free key under a stem, and take it: C1, C2 under C; C1-1 under C1."""
        numbers = self._numbers.setdefault(stem, count(1))
        numbered = (f"{stem}{number}" if stem[-1].isalpha() else f"{stem}-{number}" for number in numbers)
        found = next(key for key in numbered if key not in self.taken)
        self.taken.add(found)
        return found

    def _first(self, *, numbered: bool) -> str:
        while self._at[numbered] in self.taken or (numbered and f"{self._at[numbered]}1" in self.taken):
            self._at[numbered] = next(self._places[numbered])
        return self._at[numbered]


def _letters() -> Iterator[str]:
    for round_ in count():
        for letter in ascii_uppercase:
            yield letter if round_ == 0 else f"{letter}{letter}" if round_ == 1 else f"{letter}{letter}{round_}"
