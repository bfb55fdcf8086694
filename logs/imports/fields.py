"""What a column may mean: each field with its kind, its bounds, and the words that stand over such columns.

The bounds are those of the log intake; a test holds the two equal.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

FieldKind = Literal[
    "date", "time", "text", "prose", "count", "number", "load", "minutes", "seconds", "distance", "word"
]
Part = Literal["row", "session", "set", "check_in"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportField:
    """A field.

    Attributes:
        name: what a mapping calls it.
        part: of what it tells.
        kind: what its cells are read as.
        headers: common words over such a column.
        says: what it is, for documentation and questions.
        minimum: the least value.
        maximum: the greatest value, or the most characters.
        open_ended: whether the maximum itself is too much.
        places: decimals kept.
    """

    name: str
    part: Part
    kind: FieldKind
    headers: tuple[str, ...]
    says: str
    minimum: float = 0
    maximum: float = 0
    open_ended: bool = False
    places: int = 2


_FIELDS: Final = (
    ImportField(
        name="date",
        part="row",
        kind="date",
        headers=("date", "day", "workout date", "training date", "session date", "performed on", "date performed"),
        says="The day of the session; a time of day beside it is read too.",
    ),
    ImportField(
        name="start_time",
        part="session",
        kind="time",
        headers=("start time", "time", "started", "started at", "start", "time of day"),
        says="The time of day at which the session started, in the client's zone.",
    ),
    ImportField(
        name="client",
        part="row",
        kind="text",
        maximum=200,
        headers=("client", "athlete", "name", "client name", "athlete name", "person", "trainee", "lifter", "email"),
        says="The client: full name, email or id.",
    ),
    ImportField(
        name="session",
        part="session",
        kind="text",
        maximum=200,
        headers=("session", "workout", "session name", "workout name", "training", "routine", "title"),
        says="What tells two sessions of one day apart.",
    ),
    ImportField(
        name="session_minutes",
        part="session",
        kind="minutes",
        maximum=1440,
        headers=("session duration", "workout duration", "session minutes", "session length", "total time", "minutes"),
        says="How long the session took; plain numbers are minutes.",
    ),
    ImportField(
        name="session_rpe",
        part="session",
        kind="number",
        maximum=10,
        places=1,
        headers=("session rpe", "srpe", "session effort", "workout rpe"),
        says="The effort of the whole session, 0 to 10.",
    ),
    ImportField(
        name="session_notes",
        part="session",
        kind="prose",
        maximum=4000,
        headers=("session notes", "workout notes", "session comment", "session comments"),
        says="Notes on the session.",
    ),
    ImportField(
        name="exercise",
        part="set",
        kind="text",
        maximum=200,
        headers=("exercise", "exercise name", "movement", "lift", "exercise title"),
        says="The exercise's name, alias or key.",
    ),
    ImportField(
        name="set_number",
        part="set",
        kind="count",
        minimum=1,
        maximum=200,
        headers=("set", "set number", "set no", "set order", "set index"),
        says="The set's number within its exercise; left out, sets are numbered as they stand.",
    ),
    ImportField(
        name="set_count",
        part="set",
        kind="count",
        minimum=1,
        maximum=30,
        headers=("sets", "number of sets", "set count", "no of sets"),
        says="How many equal sets the row stands for.",
    ),
    ImportField(
        name="kind",
        part="set",
        kind="word",
        headers=("set type", "type", "kind", "set kind", "warm up", "warmup"),
        says="What kind of set: work, warm-up, top, back-off, drop …; blank is work.",
    ),
    ImportField(
        name="side",
        part="set",
        kind="word",
        headers=("side", "limb", "leg", "arm"),
        says="Left, right or both; blank is both.",
    ),
    ImportField(
        name="reps",
        part="set",
        kind="count",
        maximum=1000,
        headers=("reps", "repetitions", "rep", "rep count", "reps done", "reps completed"),
        says="Repetitions.",
    ),
    ImportField(
        name="load",
        part="set",
        kind="load",
        minimum=-10_000,
        maximum=10_000,
        open_ended=True,
        places=4,
        headers=("weight", "load", "weight used", "kg", "lb", "lbs", "resistance"),
        says="The load, in the exercise's own basis (dumbbells: each hand).",
    ),
    ImportField(
        name="load_unit",
        part="set",
        kind="word",
        headers=("unit", "weight unit", "load unit", "units"),
        says="The unit of the row's load: kg or lb.",
    ),
    ImportField(
        name="rpe",
        part="set",
        kind="number",
        maximum=10,
        places=1,
        headers=("rpe", "effort", "exertion", "set rpe"),
        says="The set's effort, 0 to 10.",
    ),
    ImportField(
        name="in_reserve",
        part="set",
        kind="number",
        maximum=50,
        places=1,
        headers=("rir", "in reserve", "reps in reserve", "repetitions in reserve"),
        says="Repetitions in reserve.",
    ),
    ImportField(
        name="tempo",
        part="set",
        kind="text",
        maximum=16,
        headers=("tempo",),
        says="The tempo performed, such as 41X1.",
    ),
    ImportField(
        name="duration",
        part="set",
        kind="seconds",
        maximum=86_400,
        open_ended=True,
        headers=("duration", "seconds", "set duration", "hold", "hold time", "secs", "time under tension"),
        says="How long the set took, as seconds, minutes or m:ss.",
    ),
    ImportField(
        name="distance",
        part="set",
        kind="distance",
        maximum=1_000_000,
        open_ended=True,
        headers=("distance", "metres", "meters", "km", "kilometres", "kilometers", "miles", "yards"),
        says="The distance covered.",
    ),
    ImportField(
        name="calories",
        part="set",
        kind="number",
        maximum=10_000,
        open_ended=True,
        headers=("calories", "kcal", "cals", "energy"),
        says="Calories, kcal.",
    ),
    ImportField(
        name="rounds",
        part="set",
        kind="number",
        maximum=1_000,
        open_ended=True,
        headers=("rounds", "rounds done"),
        says="Rounds.",
    ),
    ImportField(
        name="machine",
        part="set",
        kind="text",
        maximum=60,
        headers=("machine", "station", "equipment"),
        says="Which machine it was.",
    ),
    ImportField(
        name="notes",
        part="set",
        kind="prose",
        maximum=4000,
        headers=("notes", "note", "comment", "comments", "remarks", "set notes"),
        says="Notes on the set.",
    ),
    ImportField(
        name="bodyweight",
        part="check_in",
        kind="load",
        maximum=1000,
        open_ended=True,
        places=4,
        headers=("bodyweight", "body weight", "body mass", "morning weight"),
        says="The client's bodyweight that day.",
    ),
    ImportField(
        name="row_id",
        part="row",
        kind="text",
        maximum=200,
        headers=("id", "row id", "log id", "entry id", "set id", "record id"),
        says="The file's own id of each row, if it has one.",
    ),
)

FIELDS: Final[Mapping[str, ImportField]] = {field.name: field for field in _FIELDS}
"""Every field, by name. Practice."""

FIELD_NAMES: Final = tuple(FIELDS)
"""Their names, in the order of the documentation. Practice."""

MEASURES: Final = ("reps", "duration", "distance", "calories", "rounds")
"""Fields of which a set needs one. Practice: the intake's own rule."""

CARRIED: Final = ("date", "client", "session", "exercise")
"""Fields whose blank cells may mean the value above. Practice: how people write tables by hand."""

LOAD_UNITS: Final = ("kg", "lb")
"""Units of loads and bodyweights. Practice."""

DISTANCE_UNITS: Final = ("m", "km", "mi", "yd")
"""Units of distances. Practice."""

DURATION_UNITS: Final = ("s", "min")
"""Units of plain numbers that are durations of sets. Practice."""

UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "load": LOAD_UNITS,
    "bodyweight": LOAD_UNITS,
    "distance": DISTANCE_UNITS,
    "duration": DURATION_UNITS,
}
"""By field: the units that its numbers may be in. Practice."""
