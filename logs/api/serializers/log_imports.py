"""The bodies of `/log-imports`, and its answers for the documentation."""

from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from logs.imports.dates import DATE_ORDERS
from logs.imports.fields import CARRIED, FIELD_NAMES
from logs.imports.mapping import DECIMAL_MARKS, SESSIONS_BY
from logs.models import ImportState, LogImport

_Shown = serializers.Serializer[Any]


def _map_of(said: str) -> serializers.DictField:
    return serializers.DictField(
        child=serializers.CharField(allow_null=True, max_length=200), required=False, help_text=said
    )


class LogImportChangeSerializer(StrictSerializer):
    """How a table is to be read: only what is sent changes, and in the maps only the entries sent."""

    columns = _map_of(f"By column letter, a field or null: {', '.join(FIELD_NAMES)}.")
    units = _map_of("By field: load and bodyweight kg or lb; distance m, km, mi or yd; duration s or min.")
    date_order = serializers.ChoiceField(choices=DATE_ORDERS, required=False, allow_null=True)
    decimal_mark = serializers.ChoiceField(choices=DECIMAL_MARKS, required=False)
    sessions_by = serializers.ChoiceField(choices=SESSIONS_BY, required=False)
    fill_down = serializers.ListField(
        child=serializers.ChoiceField(choices=CARRIED),
        required=False,
        max_length=len(CARRIED),
        help_text="Fields whose blank cells mean the value above.",
    )
    exercise_map = _map_of("By the name written, the key or id of the exercise that is meant.")
    client_map = _map_of("By the name written, the id of the client who is meant.")


class LogImportCommitSerializer(StrictSerializer):
    """How to write an import."""

    skip_faulty_rows = serializers.BooleanField(default=False, help_text="Leave rows with faults out and list them.")


class FieldGuessSerializer(_Shown):
    """A field that a column may hold."""

    field = serializers.CharField()
    confidence_pct = serializers.IntegerField(help_text="Likeness of the header times the share of cells that fit.")


class ImportColumnSerializer(_Shown):
    """A column as found."""

    letter = serializers.CharField()
    header = serializers.CharField()
    samples = serializers.ListField(child=serializers.CharField())
    blanks = serializers.IntegerField()
    candidates = FieldGuessSerializer(many=True)


class ImportMappingSerializer(_Shown):
    """How the table is read: guessed at first, then as changed."""

    columns = serializers.DictField(child=serializers.CharField())
    units = serializers.DictField(child=serializers.CharField())
    date_order = serializers.ChoiceField(choices=DATE_ORDERS, allow_null=True)
    decimal_mark = serializers.ChoiceField(choices=DECIMAL_MARKS)
    sessions_by = serializers.ChoiceField(choices=SESSIONS_BY)
    fill_down = serializers.ListField(child=serializers.ChoiceField(choices=CARRIED))
    exercise_map = serializers.DictField(child=serializers.CharField())
    client_map = serializers.DictField(child=serializers.CharField())


class ExerciseCandidateSerializer(_Shown):
    """An exercise that a written name may mean."""

    exercise = serializers.CharField()
    name = serializers.CharField()
    likeness_pct = serializers.IntegerField()


class WrittenExerciseSerializer(_Shown):
    """An exercise as the table calls it; `exercise` is null while it is open what is meant."""

    written = serializers.CharField()
    rows = serializers.IntegerField()
    exercise = serializers.CharField(allow_null=True)
    load_basis = serializers.CharField(help_text="What its loads are of; empty while it is open.")
    candidates = ExerciseCandidateSerializer(many=True)


class ClientCandidateSerializer(_Shown):
    """A client who may be meant."""

    client = serializers.UUIDField()
    name = serializers.CharField()


class WrittenClientSerializer(_Shown):
    """A client as the table calls them; `client` is null while it is open who is meant."""

    written = serializers.CharField()
    rows = serializers.IntegerField()
    client = serializers.UUIDField(allow_null=True)
    candidates = ClientCandidateSerializer(many=True)


class ImportQuestionSerializer(_Shown):
    """What the mapping must say before anything can be written."""

    field = serializers.CharField()
    code = serializers.CharField()
    detail = serializers.CharField()
    choices = serializers.ListField(child=serializers.CharField())


class ImportCountsSerializer(_Shown):
    """What became of the logs of a kind, or would; `superseded` are those of the unchanged that are newer in store."""

    created = serializers.IntegerField()
    unchanged = serializers.IntegerField()
    corrected = serializers.IntegerField()
    superseded = serializers.IntegerField()


class ImportFaultSerializer(_Shown):
    """One thing wrong with a row, at its cell."""

    row = serializers.IntegerField(help_text="As a spreadsheet numbers it, the header and blank rows counted.")
    column = serializers.CharField(allow_null=True, help_text="The header; null for the row itself.")
    cell = serializers.CharField(allow_null=True, help_text="Such as D17.")
    field = serializers.CharField(allow_null=True)
    code = serializers.CharField()
    detail = serializers.CharField(help_text="What to change.")


class ImportResultSerializer(_Shown):
    """What the last run came to: counts of a dry run are what a commit would store, without the faulty rows."""

    ran_at = serializers.DateTimeField()
    rows = serializers.IntegerField()
    faulty_rows = serializers.ListField(child=serializers.IntegerField())
    session_logs = ImportCountsSerializer()
    set_logs = ImportCountsSerializer()
    check_ins = ImportCountsSerializer()
    fault_count = serializers.IntegerField()
    faults = ImportFaultSerializer(many=True, help_text="The first 200.")
    log_batches = serializers.ListField(child=serializers.UUIDField(), help_text="That a commit wrote.")


class LogImportSerializer(_Shown):
    """An import of past logs."""

    id = serializers.UUIDField()
    state = serializers.ChoiceField(choices=ImportState.choices)
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which the metaclass takes
    client = serializers.UUIDField(allow_null=True, help_text="Whose the whole file is; null if a column says.")
    format = serializers.CharField()
    rows = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    committed_at = serializers.DateTimeField(allow_null=True)
    expires_at = serializers.DateTimeField(help_text="When the file and all that quotes from it is forgotten.")
    forgotten_at = serializers.DateTimeField(allow_null=True)


class FileToldSerializer(_Shown):
    """How the file was read."""

    encoding = serializers.CharField(help_text="Of CSV; empty for a spreadsheet.")
    delimiter = serializers.CharField(help_text="Of CSV; empty for a spreadsheet.")
    sheet = serializers.CharField()
    sheets = serializers.ListField(child=serializers.CharField())
    header_row = serializers.IntegerField()


class LogImportDetailSerializer(LogImportSerializer):
    """An import with its columns, their mapping, what is open, and what the last run came to."""

    told = FileToldSerializer()
    columns = ImportColumnSerializer(many=True)
    mapping = ImportMappingSerializer()
    exercises = WrittenExerciseSerializer(many=True, help_text="The first 500, open ones first.")
    clients = WrittenClientSerializer(many=True, help_text="The first 500, open ones first.")
    questions = ImportQuestionSerializer(many=True)
    result = ImportResultSerializer(allow_null=True)


def show_log_import(row: LogImport) -> dict[str, Any]:
    """Return an import as a list shows it."""
    return {
        "id": row.id,
        "state": row.state,
        "source": row.source,
        "client": row.client_id,
        "format": row.format,
        "rows": row.row_count,
        "created_at": row.created_at,
        "committed_at": row.committed_at,
        "expires_at": row.expires_at,
        "forgotten_at": row.forgotten_at,
    }


def show_log_imports(rows: list[LogImport]) -> list[dict[str, Any]]:
    """Return imports as a list shows them."""
    return [show_log_import(row) for row in rows]


def show_log_import_whole(row: LogImport) -> dict[str, Any]:
    """Return an import with everything but its rows."""
    return {
        **show_log_import(row),
        "told": row.told,
        "columns": row.columns,
        "mapping": row.mapping,
        **row.findings,
        "result": row.result,
    }
