"""What becomes of an item whose identity is known already: `model.md`, Corrections.

A batch does what its items would do one by one: every decision starts from the state that the one before
left, so that it does not matter how a sender parts what it has into batches.
"""

from dataclasses import dataclass, field
from typing import Literal

from logs.actions.log_fields import Item

Decision = Literal["deleted", "unchanged", "superseded", "corrected"]


@dataclass(slots=True)
class LogState:
    """A log as it stands while a batch's items meet it, in their order.

    Attributes:
        log_id: its id.
        revision: the sender's revision of its content.
        row_version: how often it was written.
        digest: the hash of its content, in hex.
        deleted: whether only its identity is left.
        was_dated: the date that it had before the batch; None for a log that the batch itself made.
        referred_to: the session or planned session that it belonged to before the batch, None for none.
        earlier: revisions and hashes of states that it had before, as far as an item of the batch equals one.
        replaced: what each correction replaced: an item of this batch, or None for the stored row; and its
            row version.
        final: the item whose content it ends with; None while no item corrected it.
    """

    log_id: str
    revision: int
    row_version: int
    digest: str
    deleted: bool = False
    was_dated: str | None = None
    referred_to: str | None = None
    earlier: set[tuple[int, str]] = field(default_factory=set)
    replaced: list[tuple[Item | None, int]] = field(default_factory=list)
    final: Item | None = None

    def decide(self, revision: int, digest: str, *, insists: bool = False) -> Decision:
        """Say what an arriving item is to this log."""
        if self.deleted:
            return "deleted"
        if revision != self.revision:
            return "corrected" if revision > self.revision else "superseded"
        if digest == self.digest:
            return "unchanged"
        # Content that was here before is a late retry, which must not undo what corrected it.
        return "superseded" if (revision, digest) in self.earlier and not insists else "corrected"

    def meet(self, item: Item) -> None:
        """Let an item arrive, and note on it what became of it."""
        decision = self.decide(item.revision, item.digest, insists=item.insists)
        item.id = self.log_id
        if decision == "deleted":
            item.refuse("external_id", "deleted", "This log was deleted; send a new one under another external_id.")
            return
        item.result = "corrected" if decision == "corrected" else "unchanged"
        item.superseded = decision == "superseded"
        if decision == "corrected":
            self.earlier.add((self.revision, self.digest))
            self.replaced.append((self.final, self.row_version))
            self.revision, self.digest, self.final = item.revision, item.digest, item
            self.row_version += 1
