"""The fields of logs as an action takes them, whichever way they came, and what became of each item."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final, Literal, TypedDict

from coaching.refusals import Fault

Kind = Literal["session_log", "set_log", "check_in"]
Result = Literal["created", "unchanged", "corrected", "refused", "held", "not_stored"]

KINDS: Final[tuple[Kind, ...]] = ("session_log", "set_log", "check_in")
LISTS: Final[dict[Kind, str]] = {
    "session_log": "session_logs",
    "set_log": "set_logs",
    "check_in": "check_ins",
}


class ItemFields(TypedDict):
    """What every item has."""

    external_id: str
    client: str
    revision: int
    symptoms: list[str]
    notes: str


class SessionFields(ItemFields):
    """A session performed, as sent."""

    planned_session: str | None
    local_date: date | None
    started_at: datetime | None
    finished_at: datetime | None
    duration_min: float | None
    session_rpe: float | None
    cut_reason: str
    place: str | None
    minutes_confirmed: bool


class SetFields(ItemFields):
    """A set performed, as sent; `load_kg` or `load_lb`, `rpe` or `in_reserve`, never both."""

    session_external_id: str | None
    session_log: str | None
    exercise: str
    slot: str
    set_number: int
    kind: str
    side: str
    reps: int | None
    duration_s: float | None
    distance_m: float | None
    calories_kcal: float | None
    rounds: float | None
    segments: list[dict[str, Any]] | None
    load_kg: float | None
    load_lb: float | None
    load_basis: str | None
    machine: str
    rpe: float | None
    in_reserve: float | None
    tempo: str
    phase_s: dict[str, float] | None
    phase_source: str
    outcome: str
    swapped: dict[str, str] | None


class CheckInFields(ItemFields):
    """How a person says they are, as sent."""

    local_date: date
    sleep: int | None
    fatigue: int | None
    stress: int | None
    soreness: int | None
    pains: list[dict[str, Any]]
    bodyweight_kg: float | None
    bodyweight_lb: float | None
    resting_hr_bpm: int | None
    hrv_rmssd_ms: float | None
    form: str | None
    form_version: int | None
    answers: dict[str, Any]


@dataclass(frozen=True, slots=True)
class ItemFault:
    """One thing wrong with an item.

    Attributes:
        field: where within the item, `/`-separated, such as `segments/1/reps`; empty for the item itself.
        code: a stable word for programs.
        detail: a sentence that says what to change.
    """

    field: str
    code: str
    detail: str


class Item:
    """An item on its way in: what was sent, what it resolved to, and what became of it.

    `index` is its place in its list; None for one that was held before and is released now. One that `insists`
    replaces content even with what was there before: a person's own correction, never a retry.
    `named_exercise_id` is the exercise that it named, where that was merged into the one that it is kept under.
    """

    __slots__ = (
        "client_id",
        "content",
        "digest",
        "external_id",
        "faults",
        "fields",
        "id",
        "index",
        "insists",
        "kind",
        "local_date",
        "named_exercise_id",
        "notes",
        "ordinal",
        "result",
        "revision",
        "session_id",
        "superseded",
    )

    def __init__(self, kind: Kind, index: int | None, fields: Any, faults: list[ItemFault] | None = None) -> None:
        self.kind: Kind = kind
        self.index = index
        self.fields = fields
        self.faults: list[ItemFault] = faults or []
        self.external_id: str = fields["external_id"]
        self.revision: int = fields["revision"]
        self.client_id = ""
        self.id: str | None = None
        self.insists = False
        self.ordinal = -1
        self.local_date = ""
        self.named_exercise_id: str | None = None
        self.session_id: str | None = None
        self.content = ""
        self.digest = ""
        self.result: Result | None = "refused" if faults else None
        self.superseded = False
        self.notes: list[str] = []

    def refuse(self, field: str, code: str, detail: str) -> None:
        """Refuse it for one more reason."""
        self.faults.append(ItemFault(field, code, detail))
        self.result = "refused"

    @property
    def pointer(self) -> str:
        """Where it stands in the body."""
        return f"#/{LISTS[self.kind]}/{self.index}"


def faults_of_single(item: Item) -> list[Fault]:
    """Return the faults of an item that is itself the body."""
    return [Fault(f"#/{fault.field}" if fault.field else "#", fault.code, fault.detail) for fault in item.faults]
