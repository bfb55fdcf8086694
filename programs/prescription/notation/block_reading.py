"""From a block's own line to its draft: how it is timed, its entry piece, and what stands on the same line."""

from dataclasses import dataclass

from programs.prescription.names import Catalogue
from programs.prescription.notation.drafts import BlockDraft, EntryDraft, Timing
from programs.prescription.notation.headers import as_for_time, read_cap, read_header, read_round_rest, read_rounds
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.line_grammar import LineTree
from programs.prescription.notation.line_words import start_column
from programs.prescription.notation.remarks import Remarks
from programs.prescription.notation.slot_reading import SlotReader


@dataclass(frozen=True, slots=True)
class BlockReader:
    """Reads the parts of a block's line into a draft, in the order they are written."""

    remarks: Remarks
    catalogue: Catalogue | None

    def read(self, tree: LineTree, block: BlockDraft) -> None:
        """Read every part."""
        for child in tree.children:
            if not isinstance(child, LineTree):
                continue
            match child.data:
                case "item":
                    self._inline(child, block)
                case "entry":
                    self._entry(child, block)
                case _:
                    self._timing(child, block)

    def _timing(self, tree: LineTree, block: BlockDraft) -> None:
        match tree.data:
            case "cap":
                block.cap_min = read_cap(tree, self.remarks)
            case "rounds":
                self._rounds(tree, block)
            case "for_time":
                as_for_time(block.timing or Timing(kind="circuit"))
            case "round_rest":
                block.round_rest_s = read_round_rest(tree, self.remarks)
            case _:
                block.timing = read_header(tree, self.remarks)

    def _rounds(self, tree: LineTree, block: BlockDraft) -> None:
        word = tree.children[0]
        if block.timing is not None and isinstance(word, Word):
            block.timing.rounds = read_rounds(word, self.remarks)
            block.timing.counted = True

    def _inline(self, tree: LineTree, block: BlockDraft) -> None:
        draft = SlotReader(self.remarks, self.catalogue, column=start_column(tree)).read(tree.children)
        if draft.name is None:
            self.remarks.error(
                start_column(tree),
                "no_exercise",
                "Found no exercise; expected its name, or this on the exercise's own line.",
            )
        elif draft.exercise:
            block.slots.append(draft)

    def _entry(self, tree: LineTree, block: BlockDraft) -> None:
        item = tree.children[-1]
        if not isinstance(item, LineTree):
            return
        draft = SlotReader(self.remarks, self.catalogue, column=start_column(item)).read(item.children)
        amounts = [sets.amount for sets in draft.sets]
        if draft.name is None or len(amounts) != 1 or amounts[0].reps_low is not None:
            self.remarks.error(
                start_column(tree),
                "entry",
                "Expected an exercise with its time, distance or calories, such as entry: row 2:00.",
            )
            return
        one = amounts[0]
        block.entry = EntryDraft(
            exercise=draft.exercise,
            duration_s=one.duration_s,
            distance_m=one.distance_m,
            calories_kcal=one.calories_kcal,
        )
