"""What is found in a table beside its rows: its columns, whom and what it names, and what is open."""

from typing import Any, Final

from logs.imports.column_guesses import Guess
from logs.imports.typed_rows import Row
from logs.imports.written_names import folded
from logs.selectors.log_imports import ImportFacts

NAMES_KEPT: Final = 500
"""Names that are shown one by one, open ones first."""


def columns_of(guess: Guess) -> list[dict[str, Any]]:
    """Return a table's columns as they are kept and shown."""
    return [
        {
            "letter": column.letter,
            "header": column.header,
            "samples": list(column.samples),
            "blanks": column.blanks,
            "candidates": [{"field": one.field, "confidence_pct": one.confidence_pct} for one in column.candidates],
        }
        for column in guess.columns
    ]


def findings_of(facts: ImportFacts) -> dict[str, Any]:
    """Return what is found of a table's names and open questions, as it is kept and shown."""
    exercises = sorted(facts.exercises.values(), key=lambda one: (one.key is not None, one.written))
    clients = sorted(facts.clients.values(), key=lambda one: (one.client_id is not None, one.written))
    return {
        "exercises": [
            {
                "written": one.written,
                "rows": one.rows,
                "exercise": one.key,
                "load_basis": one.load_basis,
                "candidates": [
                    {"exercise": found.key, "name": found.name, "likeness_pct": found.likeness_pct}
                    for found in one.candidates
                ],
            }
            for one in exercises[:NAMES_KEPT]
        ],
        "clients": [
            {
                "written": one.written,
                "rows": one.rows,
                "client": one.client_id,
                "candidates": [{"client": found.id, "name": found.name} for found in one.candidates],
            }
            for one in clients[:NAMES_KEPT]
        ],
        "questions": [
            {"field": one.field, "code": one.code, "detail": one.detail, "choices": list(one.choices)}
            for one in facts.questions
        ],
    }


def refuse_unknown_names(row: Row, facts: ImportFacts) -> None:
    """Give a row the faults that it names an exercise or client of whom it is open what or who is meant."""
    written = row.values.get("exercise")
    exercise = facts.exercises[folded(written)] if written is not None else None
    if exercise is not None and exercise.key is None:
        likest = " or ".join(one.key for one in exercise.candidates[:3])
        hint = f", perhaps to {likest}" if likest else "; /exercises lists its keys"
        row.fault(
            "exercise",
            "unknown_exercise",
            f"{exercise.written[:60]!r} is no exercise of this business; map it in exercise_map{hint}.",
        )
    written = row.values.get("client")
    client = facts.clients.get(folded(written)) if written is not None else None
    if client is not None and client.client_id is None:
        likest = " or ".join(one.name for one in client.candidates)
        hint = f" Did you mean {likest}?" if likest else ""
        row.fault(
            "client",
            "unknown_client",
            f"{client.written[:60]!r} is no client whose logs you may write; map the name in client_map.{hint}",
        )
