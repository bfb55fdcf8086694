"""From an exercise's line, or an item of a block's own line, to its draft."""

from typing import Final

from programs.prescription.constants import REST_MAX_S
from programs.prescription.names import Catalogue
from programs.prescription.notation import figures
from programs.prescription.notation.amounts import Reading, read_measure
from programs.prescription.notation.details import read_band, read_effort, read_load, read_tempo
from programs.prescription.notation.drafts import Amount, Detail, SetsDraft, SlotDraft, Timing
from programs.prescription.notation.headers import HEADERS, as_for_time, read_cap, read_header, read_round_rest
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.line_grammar import LineTree
from programs.prescription.notation.line_words import only_word, start_column
from programs.prescription.notation.naming import read_name
from programs.prescription.notation.remarks import Remarks
from programs.prescription.notation.rest_reading import read_rest, rest_seconds, rested_segments
from programs.prescription.notation.set_counts import read_count, read_kind
from programs.prescription.vocabulary import GOALS, SetKind

_SAID_ALREADY: Final = frozenset({"hold", "holds", "carry", "walk", "reps"})
"""Words after an amount that only repeat what the exercise's name says. Practice."""


class SlotReader:
    """Reads the parts of one exercise into a draft, in the order they are written.

    What is said of sets belongs to the sets just before it; what is said before any set belongs to all of them.
    """

    def __init__(self, remarks: Remarks, catalogue: Catalogue | None, *, column: int) -> None:
        self.remarks = remarks
        self.catalogue = catalogue
        self.draft = SlotDraft(line=remarks.line, column=column)
        self._details: list[Detail] = [self.draft.common]
        self._current: list[SetsDraft] = []
        self._apart = True
        self._each_hand: bool | None = None

    def read(self, children: list[Word | LineTree]) -> SlotDraft:
        """Read every part."""
        for child in children:
            if isinstance(child, Word):
                self._apart = True
                continue
            if child.data in HEADERS:
                self._timing(read_header(child, self.remarks))
            else:
                _READERS[str(child.data)](self, child)
            self._apart = False
        self.draft.spoilt = self.remarks.spoilt
        return self.draft

    def _timing(self, timing: Timing) -> None:
        said = self.draft.timing
        if said is not None and timing == Timing(kind="rounds_for_time", rounds=1, counted=False):
            as_for_time(said)
        else:
            self.draft.timing = timing

    def name(self, tree: LineTree) -> None:
        """Take the exercise's name; further words may name a band, or repeat the amount's measure."""
        word = only_word(tree)
        if self.draft.name is None:
            self.draft.name = word
            self.draft.exercise, self._each_hand = read_name(word, self.remarks, self.catalogue)
        elif word.text not in _SAID_ALREADY:
            self._further_words(word)

    def group(self, tree: LineTree) -> None:
        """Take sets: how many, of what kind, and how much each."""
        words = [child for child in tree.children if isinstance(child, Word)]
        measure = tree.children[-1]
        if self._is_short_rest(words, measure):
            return
        if self.draft.sets and not self._apart:
            self.remarks.error(
                start_column(tree), "unexpected", "Found more sets; expected one number of sets, or a comma."
            )
            self.draft.sets = [sets for sets in self.draft.sets if not any(sets is other for other in self._current)]
            self.cut(tree)
            return
        count = read_count(words, self.remarks)
        reading = read_measure(measure, self.remarks) if isinstance(measure, LineTree) else Reading(Amount())
        if count is None or reading is None:
            self.cut(tree)
            return
        before = self.draft.sets[-1] if self.draft.sets else None
        if not words and before is not None and before.count > 1 and reading.amount.reps_low is not None:
            # One set more, or the second of those before? Coaches mean either.
            self.remarks.error(
                start_column(tree),
                "sets",
                f"{before.count} sets were written before this number; expected one for each set joined by hyphens, "
                "such as 3 x 12-10-8, or a number of sets, such as 1 x 10.",
            )
            self.cut(tree)
            return
        self._add(count, read_kind(words, reading), reading, words)

    def bare(self, tree: LineTree) -> None:
        """Take a number of sets that asks for nothing by itself, as under a block's clock."""
        words = [child for child in tree.children if isinstance(child, Word)]
        count = read_count(words, self.remarks)
        if count is not None:
            self._add(count, read_kind(words, Reading(Amount())), Reading(Amount()), words)

    def cut(self, _tree: LineTree) -> None:
        """Let what is said of sets that were not read belong to no others."""
        self._current = []
        self._details = [Detail()]

    def last(self, tree: LineTree) -> None:
        """Take what the last of the sets before asks for."""
        reading = read_measure(tree.children[-1], self.remarks)  # type: ignore[arg-type]
        if reading is None:
            return
        if not self._current or reading.amount.ladder:
            self.remarks.error(
                start_column(tree), "last_set", "Expected sets before this, such as 3 x 5, last set AMRAP."
            )
            return
        self._current[-1].last = reading.amount

    def tempo(self, tree: LineTree) -> None:
        """Take a tempo."""
        tempo = read_tempo(tree, self.remarks)
        for detail in self._details if tempo is not None else ():
            self._once(tree, "tempo", detail.tempo is None)
            detail.tempo = detail.tempo or tempo

    def effort(self, tree: LineTree) -> None:
        """Take an effort."""
        effort = read_effort(tree, self.remarks)
        if effort is None:
            return
        name, value = effort
        for detail in self._details:
            unsaid = detail.rpe is None and detail.in_reserve is None
            self._once(tree, "effort", unsaid)
            if unsaid and name == "rpe":
                detail.rpe = value
            elif unsaid:
                detail.in_reserve = value

    def load(self, tree: LineTree) -> None:
        """Take a load."""
        load = read_load(tree, self.remarks, each_hand=self._each_hand)
        for detail in self._details if load is not None else ():
            self._once(tree, "load", detail.load is None)
            detail.load = detail.load or load

    def rest(self, tree: LineTree) -> None:
        """Take the rest after a set."""
        self._rest(read_rest(tree, self.remarks), tree)

    def round_rest(self, tree: LineTree) -> None:
        """Take the rest between the rounds of the block that the exercise belongs to."""
        self.draft.round_rest_s = read_round_rest(tree, self.remarks)

    def inside(self, tree: LineTree) -> None:
        """Take the rest between the stretches of a set."""
        word = next(child for child in tree.children if isinstance(child, Word) and child.type == "TIME")
        rest_s = figures.seconds(word, self.remarks, most=REST_MAX_S, longest=True)
        stretched = [sets for sets in self._current if sets.amount.segments]
        if not stretched:
            self.remarks.error(
                word, "inside", "A rest inside the set; expected stretches before it, such as 4 x 2+2+2."
            )
        for sets in stretched if rest_s else ():
            sets.amount.segments = rested_segments(sets.amount.segments, rest_s or 0)

    def side(self, _tree: LineTree) -> None:
        """Take that each set is done on both sides, one after the other."""
        self.draft.per_side = True

    def goal(self, tree: LineTree) -> None:
        """Take what the exercise is meant for."""
        self._once(tree, "goal", self.draft.goal is None)
        said = only_word(tree).text
        self.draft.goal = next(goal for goal in GOALS if said.endswith(goal))

    def cap(self, tree: LineTree) -> None:
        """Take a cap on the time."""
        self.draft.cap_min = read_cap(tree, self.remarks)

    def _add(self, count: int, kind: SetKind, reading: Reading, words: list[Word]) -> None:
        amount = reading.amount
        self.draft.per_side = self.draft.per_side or reading.both_sides
        if amount.ladder and count not in (1, len(amount.ladder)):
            self.remarks.error(words[0], "ladder", f"{count} sets, but {len(amount.ladder)} numbers; expected as many.")
            self._details = [Detail()]
            return
        if amount.ladder:
            rungs = [Amount(reps_low=reps) for reps in amount.ladder]
            rungs[-1].to_limit = amount.to_limit
            self._current = [SetsDraft(kind=kind, amount=rung) for rung in rungs]
        else:
            self._current = [SetsDraft(count=count, kind=kind, amount=amount)]
        self._details = [sets.detail for sets in self._current]
        self.draft.sets += self._current

    def _is_short_rest(self, words: list[Word], measure: Word | LineTree) -> bool:
        """Take ``:90`` after sets as a rest, as the trade writes it; and after a comma a time after repetitions."""
        if words or not self.draft.sets or not isinstance(measure, LineTree) or len(measure.children) != 1:
            return False
        time = measure.children[0]
        if not isinstance(time, Word) or time.type != "TIME":
            return False
        counted = all(sets.amount.duration_s is None for sets in self.draft.sets)
        if not time.text.startswith(":") and not (self._apart and counted and self.draft.rest_s is None):
            return False
        self._rest(rest_seconds(time, self.remarks), measure)
        return True

    def _rest(self, rest_s: int | None, tree: LineTree) -> None:
        if rest_s is not None:
            self._once(tree, "rest", self.draft.rest_s is None or self.draft.rest_s == rest_s)
            self.draft.rest_s = rest_s if self.draft.rest_s is None else self.draft.rest_s

    def _once(self, tree: LineTree, what: str, unsaid: bool) -> None:  # noqa: FBT001
        if not unsaid:
            self.remarks.error(
                start_column(tree), "said_twice", f"A second {what}; expected one, and the first is kept."
            )

    def _further_words(self, word: Word) -> None:
        said = self.remarks.raw(word)
        words = word.text.split()
        band = said[len("band") :] if words[0] == "band" else said[: -len("band")] if words[-1] == "band" else ""
        if not band.strip() or word.type != "NAME":
            self.remarks.error(
                word, "unexpected", f"Found {said!r}; expected a comma and what the sets ask for, or notes after --."
            )
            return
        load = read_band(band.strip(), word, self.remarks)
        for detail in self._details:
            detail.load = detail.load or load


_READERS = {
    "name": SlotReader.name,
    "group": SlotReader.group,
    "bare": SlotReader.bare,
    "cut": SlotReader.cut,
    "last": SlotReader.last,
    "tempo": SlotReader.tempo,
    "effort": SlotReader.effort,
    "load": SlotReader.load,
    "rest": SlotReader.rest,
    "round_rest": SlotReader.round_rest,
    "inside": SlotReader.inside,
    "side": SlotReader.side,
    "goal": SlotReader.goal,
    "cap": SlotReader.cap,
}
