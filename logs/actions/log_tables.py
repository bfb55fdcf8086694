"""The three tables of logs, as the one write path sees them: their content columns, in order, with their types."""

from dataclasses import dataclass
from typing import Final

from logs.actions.log_fields import Kind


@dataclass(frozen=True, slots=True)
class LogTable:
    """A table of logs.

    Attributes:
        kind: which one.
        name: the table.
        staged: the temporary table in which a batch's items wait to be written.
        columns: the content columns with the types that they are staged in.
        reference: what of the stored row `l` a correction's effects need to know the old value of.
    """

    kind: Kind
    name: str
    staged: str
    columns: tuple[tuple[str, str], ...]
    reference: str

    @property
    def column_names(self) -> tuple[str, ...]:
        """The content columns."""
        return tuple(name for name, _type in self.columns)


SESSION_LOG: Final = LogTable(
    kind="session_log",
    name="logs_sessionlog",
    staged="staged_session_log",
    reference="l.planned_session_id",
    columns=(
        ("planned_session_id", "uuid"),
        ("planned_session_named", "boolean"),
        ("started_at", "timestamptz"),
        ("finished_at", "timestamptz"),
        ("duration_min", "numeric(6,2)"),
        ("session_rpe", "numeric(3,1)"),
        ("cut_reason", "text"),
        ("symptoms", "varchar[]"),
        ("notes", "text"),
        ("place_id", "uuid"),
        ("minutes_confirmed", "boolean"),
    ),
)
SET_LOG: Final = LogTable(
    kind="set_log",
    name="logs_setlog",
    staged="staged_set_log",
    reference="l.session_log_id",
    columns=(
        ("session_log_id", "uuid"),
        ("exercise_id", "uuid"),
        ("slot_key", "text"),
        ("set_number", "smallint"),
        ("kind", "text"),
        ("side", "text"),
        ("reps", "smallint"),
        ("duration_s", "numeric(7,2)"),
        ("distance_m", "numeric(9,2)"),
        ("calories_kcal", "numeric(7,2)"),
        ("rounds", "numeric(6,2)"),
        ("segments", "jsonb"),
        ("load", "numeric(9,4)"),
        ("unit", "text"),
        ("load_kg", "numeric(14,8)"),
        ("load_basis", "text"),
        ("machine", "text"),
        ("rpe", "numeric(3,1)"),
        ("in_reserve", "numeric(3,1)"),
        ("tempo", "text"),
        ("tempo_class", "text"),
        ("phase_s", "jsonb"),
        ("phase_source", "text"),
        ("outcome", "text"),
        ("symptoms", "varchar[]"),
        ("swapped", "jsonb"),
        ("notes", "text"),
    ),
)
CHECK_IN: Final = LogTable(
    kind="check_in",
    name="logs_checkin",
    staged="staged_check_in",
    reference="NULL::uuid",
    columns=(
        ("sleep", "smallint"),
        ("fatigue", "smallint"),
        ("stress", "smallint"),
        ("soreness", "smallint"),
        ("symptoms", "varchar[]"),
        ("pains", "jsonb"),
        ("bodyweight", "numeric(9,4)"),
        ("unit", "text"),
        ("bodyweight_kg", "numeric(14,8)"),
        ("resting_hr_bpm", "smallint"),
        ("hrv_rmssd_ms", "numeric(6,2)"),
        ("notes", "text"),
        ("form_id", "uuid"),
        ("answers", "jsonb"),
        ("form_version", "integer"),
    ),
)
TABLES: Final[dict[Kind, LogTable]] = {"session_log": SESSION_LOG, "set_log": SET_LOG, "check_in": CHECK_IN}
