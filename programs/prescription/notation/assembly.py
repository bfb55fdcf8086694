"""Putting lines together: labels make pairs, headers open blocks, notes and caps go where they belong."""

from dataclasses import dataclass, field
from typing import Final

from programs.prescription.constants import (
    KEY_MAX_CHARACTERS,
    LABEL_MAX_CHARACTERS,
    NOTES_MAX_CHARACTERS,
    TITLE_MAX_CHARACTERS,
)
from programs.prescription.names import Catalogue
from programs.prescription.notation.block_reading import BlockReader
from programs.prescription.notation.drafts import BlockDraft, SlotDraft, Timing
from programs.prescription.notation.headers import read_cap, read_round_rest
from programs.prescription.notation.labels import Label, label_prefix, read_label
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.line_grammar import LineTree
from programs.prescription.notation.line_words import start_column
from programs.prescription.notation.quoting import unquoted
from programs.prescription.notation.remarks import Remarks
from programs.prescription.notation.slot_reading import SlotReader

_NOTE_MARK_CHARACTERS: Final = {"-": 2, "\u2014": 1}


@dataclass(slots=True)
class Assembly:
    """A session under way: what the lines so far have said."""

    remarks: Remarks
    catalogue: Catalogue | None
    title: str | None = None
    template_key: str | None = None
    cap_min: int | None = None
    cap_line: int | None = None
    blocks: list[BlockDraft] = field(default_factory=list)
    _open: bool = False
    """Whether lines without a label of their own belong to the last block."""

    def blank(self) -> None:
        """A blank line ends a block that has its exercises."""
        if self.blocks and self.blocks[-1].slots:
            self._open = False

    def line(self, tree: LineTree) -> None:
        """Take one line."""
        label: Label | None = None
        for child in tree.children:
            if isinstance(child, LineTree):
                self._item(child, label)
                continue
            if child.type == "LEAD":
                label = read_label(self.remarks.raw(child), child)
                if not any(isinstance(other, LineTree) for other in tree.children):
                    self._label_alone(label, tree)
            else:
                self._whole_line(child)

    def _whole_line(self, word: Word) -> None:
        written = self.remarks.raw(word)
        match word.type:
            case "NOTE":
                self._note(written, word)
            case "TEMPLATE":
                self.template_key = written.split(":", maxsplit=1)[-1].strip()
            case _:
                self._title(written, word)

    def _title(self, written: str, word: Word) -> None:
        said = written.strip()
        text = (
            said.lstrip("#\uff03")
            if word.text.lstrip().startswith("#")
            else said[len("title") :].lstrip().lstrip(":\uff1a")
        )
        if self.title is not None:
            self.remarks.warning(word, "said_twice", "A second title; the first is kept.")
            return
        self.title = unquoted(text.strip())
        if len(self.title) > TITLE_MAX_CHARACTERS:
            self.remarks.error(word, "out_of_range", f"A title has at most {TITLE_MAX_CHARACTERS} characters.")
            self.title = self.title[:TITLE_MAX_CHARACTERS]

    def _note(self, written: str, word: Word) -> None:
        text = unquoted(written[_NOTE_MARK_CHARACTERS[word.text[0]] :].strip())
        slots = self.blocks[-1].slots if self.blocks else []
        if not slots:
            self.remarks.warning(word, "note_not_kept", "Notes belong to an exercise; this one stands before any.")
            return
        slot = slots[-1]
        notes = f"{slot.notes}\n{text}" if slot.notes else text
        if len(notes) > NOTES_MAX_CHARACTERS:
            self.remarks.error(word, "out_of_range", f"Notes have at most {NOTES_MAX_CHARACTERS} characters.")
            return
        slot.notes = notes

    def _label_alone(self, label: Label, tree: LineTree) -> None:
        if label.text is None:
            self.remarks.error(start_column(tree), "unexpected", "Found a mark alone; expected an exercise after it.")
            return
        self._open_block(label.text)
        self._open = True

    def _item(self, tree: LineTree, label: Label | None) -> None:
        if tree.data == "block":
            self._block(tree, label)
        elif label is None and not self.remarks.spoilt and self._says_more_than_exercise(tree):
            return
        else:
            self._slot(tree, label)

    def _says_more_than_exercise(self, tree: LineTree) -> bool:
        only, *more = tree.children
        alone = all(isinstance(child, Word) for child in more)
        if alone and isinstance(only, LineTree) and only.data == "round_rest" and self.blocks:
            self.blocks[-1].round_rest_s = read_round_rest(only, self.remarks)
            return True
        return self._says_whole_session(tree)

    def _says_whole_session(self, tree: LineTree) -> bool:
        """Take a line that is only a cap, a heading, or a first line of words alone, as said of the session."""
        only, *more = tree.children
        if not isinstance(only, LineTree) or any(isinstance(child, LineTree) for child in more):
            return False
        if only.data == "cap" and not more:
            self.cap_min, self.cap_line = read_cap(only, self.remarks), self.remarks.line
            return True
        word = only.children[0]
        if only.data != "name" or not isinstance(word, Word) or word.type != "NAME" or self._open:
            return False
        if not more and not self.blocks and self.title is None:
            self.title = self.remarks.raw(word)[:TITLE_MAX_CHARACTERS]
            return True
        if [child.type for child in more if isinstance(child, Word)] == ["COLON"]:
            self.remarks.note(word, "heading", "A heading between exercises is not kept; a set's kind can be written.")
            return True
        return False

    def _slot(self, tree: LineTree, label: Label | None) -> None:
        draft = SlotReader(self.remarks, self.catalogue, column=start_column(tree)).read(tree.children)
        if draft.name is None:
            if draft.ladder and not draft.spoilt and draft.timing is None:
                self._ladder_alone(draft, label)
                return
            self.remarks.error(start_column(tree), "no_exercise", "Found no exercise; expected its name on this line.")
            return
        if not draft.exercise:
            return
        if draft.timing is not None:
            self._timed_slot(draft, label)
            return
        self._keyed(draft, label)
        block = self._home(draft, label)
        block.slots.append(draft)
        block.cap_min = draft.cap_min if block.cap_min is None else block.cap_min
        block.round_rest_s = draft.round_rest_s if block.round_rest_s is None else block.round_rest_s

    def _ladder_alone(self, draft: SlotDraft, label: Label | None) -> None:
        """Take ``21-15-9`` on a line of its own as the header of what is done so often in each round."""
        block = self._open_block("" if label is None or label.text is None else label.text)
        block.timing = Timing(kind="rounds_for_time", rounds=len(draft.ladder), ladder=draft.ladder)
        self._open = True

    def _timed_slot(self, draft: SlotDraft, label: Label | None) -> None:
        self._keyed(draft, label)
        block = self._open_block(label_prefix(draft.key or ""))
        block.timing = draft.timing
        block.cap_min = draft.cap_min
        block.round_rest_s = draft.round_rest_s
        block.slots.append(draft)

    def _keyed(self, draft: SlotDraft, label: Label | None) -> None:
        if label is not None and label.text is not None:
            draft.key = label.text[:KEY_MAX_CHARACTERS]

    def _home(self, draft: SlotDraft, label: Label | None) -> BlockDraft:
        """Give the block that an exercise's line belongs to, a new one if need be."""
        if self._open and (label is None or label.bullet):
            return self.blocks[-1]
        prefix = label_prefix(draft.key or "")
        if prefix and self.blocks and self._takes_labelled(prefix):
            return self.blocks[-1]
        return self._open_block(prefix)

    def _takes_labelled(self, prefix: str) -> bool:
        block = self.blocks[-1]
        if block.label != prefix:
            return False
        return self._open or (block.timing is None and all(slot.key is not None for slot in block.slots))

    def _open_block(self, label: str) -> BlockDraft:
        block = BlockDraft(line=self.remarks.line, label=label[:LABEL_MAX_CHARACTERS])
        self.blocks.append(block)
        self._open = False
        return block

    def _block(self, tree: LineTree, label: Label | None) -> None:
        block = self._open_block("" if label is None or label.text is None else label.text)
        BlockReader(self.remarks, self.catalogue).read(tree, block)
        self._open = not block.slots
