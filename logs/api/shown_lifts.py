"""Lift lines as they are read: figures with the method and source of each."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any, Final

from logs.analysis.constants import TYPICAL_ERROR_PCT
from logs.analysis.detectable_changes import minimal_detectable_change
from logs.analysis.lift_lines import LiftLine, LiftSet
from logs.analysis.lift_records import Record
from logs.analysis.matched import MatchedComparison
from logs.analysis.missing_values import WithoutValue, without_value
from logs.analysis.references import FORMULAS, PREDICTION_ERROR, RESERVE, THEIL_SEN
from logs.analysis.strength import tempo_note
from logs.analysis.trend_verdicts import WEEKS_MORE_ASSUMES
from logs.selectors.lift_lines import LiftLineFound, LiftsFound
from logs.selectors.lift_trends import LiftTrendRow, LiftTrends, matched_comparisons
from logs.selectors.lifts import LiftFound
from programs.prescription.structure import ExerciseFacts

LIFT_CAUTIONS: Final = (
    "An estimate is an estimate: read the direction, not the kilogram.",
    "Lines at unlike tempos, machines or places are not comparable, and formulas never mix within a line.",
    "Undecided is no plateau: it says that these values can't tell yet.",
)
LIFT_METHODS: Final = {
    "weekly_value": (
        "the median over the week's sessions of each session's best work set, of sets with at most 10 repetitions to "
        "failure and 3 in reserve; an added load is estimated with the bodyweight moved, which is taken off again"
    ),
    "trend": f"{THEIL_SEN}; percent of the median value, with the bodyweight moved for added loads",
    "verdict": (
        "improving above 0, declining below, plateau only if the whole interval lies within the negligible bound, else "
        "undecided; deload weeks, and weeks in which the client was ill or away, stay out"
    ),
    "weeks_more": WEEKS_MORE_ASSUMES,
    "matched": (
        "the best set of the latest session at a load lifted before (within 1 %) against the median of the last 3 "
        "times; else the same repetitions and effort, by load"
    ),
    "records": (
        "of the client's whole history on the line; a load for a number of repetitions is held against noise only "
        "where as much was in reserve as before"
    ),
    "minimal_detectable_change": (
        f"1.96 times the root of 2 times a typical error of {TYPICAL_ERROR_PCT} %, over the root of the sessions "
        "averaged; estimates add the formula's error and the effort's, so true noise is no less"
    ),
}
LIFT_SOURCES: Final = {
    "formulas": FORMULAS,
    "published_error": PREDICTION_ERROR,
    "effort": RESERVE,
    "typical_error": (
        "Grgic et al. 2020 Sports Med Open 6:31: median coefficient of variation of 32 studies, 0.5 to 12.1 %"
    ),
}


def show_lifts(found: LiftsFound) -> dict[str, Any]:
    """Return a client's lines as they are read."""
    return {**_span(found), "lines": [_line(one) for one in found.lines]}


def show_lift(found: LiftFound) -> dict[str, Any]:
    """Return one lift as it is read."""
    return {
        **_span(found.lifts),
        "exercise": found.exercise.key,
        "name": found.exercise.name,
        "load_basis": found.exercise.load_basis,
        "lines": [
            {
                **_line(one),
                "points": [asdict(point) for point in one.points],
                "estimates": [_set(session.best) for session in one.sessions],
                "records": [_record(record) for record in beside.records],
                "averaged": asdict(beside.averaged),
            }
            for one, beside in zip(found.lifts.lines, found.records, strict=True)
        ],
        "sides": [
            {"tempo_class": line.tempo_class, "place": line.place, "machine": line.machine, **asdict(difference)}
            for line, difference in found.sides
        ],
        "detectable_changes": [
            {"sessions": sessions, "mdc95_pct": minimal_detectable_change(sessions=sessions)} for sessions in (1, 4, 8)
        ],
    }


def show_lift_trends(found: LiftTrends, rows: Sequence[LiftTrendRow]) -> list[dict[str, Any]]:
    """Return a page of lines of many clients as they are read."""
    matched = matched_comparisons(found=found, rows=rows)
    return [
        {
            **_named(row.line, row.exercise),
            "client": row.client["id"],
            "client_name": row.client["name"],
            "latest_week": row.latest_week,
            "latest_kg": row.latest_kg,
            "trend": asdict(found.trend(row)),
            "matched": _matched(matched[row.place]),
        }
        for row in rows
    ]


def _span(found: LiftsFound) -> dict[str, Any]:
    return {
        "client": found.client_id,
        "since": found.since,
        "this_week": found.this_week,
        "formula": found.formula,
        "left_out": [{"week_start": week, "reason": reason} for week, reason in sorted(found.left_out.items())],
        "weight_hidden": found.weight_hidden,
        "methods": LIFT_METHODS,
        "sources": LIFT_SOURCES,
        "cautions": list(LIFT_CAUTIONS),
    }


def _line(one: LiftLineFound) -> dict[str, Any]:
    return {
        **_named(one.line, one.exercise),
        "latest": asdict(one.points[-1]) if one.points else None,
        "trend": asdict(one.trend),
        "matched": _matched(one.matched),
        "without_value": _without_value(without_value(one.kept)),
    }


def _without_value(found: WithoutValue | None) -> dict[str, Any] | None:
    if found is None:
        return None
    reasons = [{"reason": reason, "sessions": sessions} for reason, sessions in found.reasons]
    return {**asdict(found), "reasons": reasons}


def _named(line: LiftLine, exercise: ExerciseFacts | None) -> dict[str, Any]:
    return {
        "line": line.key,
        "exercise": line.exercise,
        "side": line.side,
        "tempo_class": line.tempo_class,
        "place": line.place,
        "machine": line.machine,
        "name": line.exercise if exercise is None else exercise.name,
        "note": tempo_note(line.tempo_class),
    }


def _set(one: LiftSet | None) -> dict[str, Any] | None:
    if one is None:
        return None
    shown = asdict(one)
    shown["session_log"], shown["estimate_kg"] = shown.pop("session_id"), shown.pop("value_kg")
    if shown["load_basis"] != "added":
        shown["body_kg"] = None
    return {**shown, "enters_line": one.enters_line}


def _matched(found: MatchedComparison) -> dict[str, Any]:
    return {
        **asdict(found),
        "n": found.n,
        "latest": _set(found.latest),
        "earlier": [_set(one) for one in found.earlier],
    }


def _record(record: Record) -> dict[str, Any]:
    return {**asdict(record), "achieved": _set(record.achieved), "earlier": _set(record.earlier)}
