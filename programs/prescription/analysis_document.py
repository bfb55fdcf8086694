"""An analysis as plain JSON values, with the unit in the name of every bare number."""

from decimal import Decimal
from typing import Any

from programs.prescription.analysis import (
    SessionAnalysis,
    SlotAnalysis,
    TensionTotal,
    VersionAnalysis,
    WeekAnalysis,
)
from programs.prescription.conditioning_document import conditioning_as_document
from programs.prescription.findings import Finding
from programs.prescription.rests import EffectiveRest
from programs.prescription.slot_work import SetGroupWork
from programs.prescription.stimulus import HEADING, StimulusReading
from programs.prescription.timeline import Timeline
from programs.prescription.timeline_clock import Event
from programs.prescription.volume import SETS_SOURCE, Volume, sets_band


def as_document(analysis: SessionAnalysis, *, events: bool = True) -> dict[str, Any]:
    """Write a session's analysis for the API.

    Args:
        analysis: the analysis.
        events: whether to list every stretch of the timeline, which is long.
    """
    return {
        "title": analysis.title,
        "template_key": analysis.template_key,
        "has_errors": analysis.has_errors,
        "timeline": timeline_as_document(analysis.timeline, events=events),
        "slots": [_slot(slot) for slot in analysis.slots],
        "volume": _volume(analysis.volume, analysis.tension, weekly=False),
        "conditioning": [conditioning_as_document(piece) for piece in analysis.conditioning],
        "findings": [finding_as_document(finding) for finding in analysis.findings],
        "cautions": list(analysis.cautions),
    }


def version_as_document(analysis: VersionAnalysis) -> dict[str, Any]:
    """Write a version's analysis for the API: session by session, week by week, without single events."""
    return {
        "has_errors": analysis.has_errors,
        "weeks": [_week(week) for week in analysis.weeks],
        "findings": [finding_as_document(finding) for finding in analysis.findings],
        "cautions": list(analysis.cautions),
    }


def _week(week: WeekAnalysis) -> dict[str, Any]:
    days = []
    for day in week.days:
        session = as_document(day.session, events=False)
        # Findings and cautions of every session stand once, at the top.
        del session["findings"], session["cautions"]
        days.append({"day_number": day.day_number, **session})
    return {
        "week_number": week.week_number,
        "deload": week.deload,
        "duration_low_min": _number(week.low_min),
        "duration_high_min": _number(week.high_min),
        "volume": _volume(week.volume, week.tension, weekly=True),
        "days": days,
    }


def timeline_as_document(timeline: Timeline, *, events: bool) -> dict[str, Any]:
    """Write a timeline for the API, with every stretch of it or without."""
    document: dict[str, Any] = {
        "low_s": timeline.low_s,
        "high_s": timeline.high_s,
        "low_min": _number(timeline.low_min),
        "high_min": _number(timeline.high_min),
        "work_low_s": timeline.work_low_s,
        "work_high_s": timeline.work_high_s,
        "density_ratio": _number(timeline.density_ratio),
        "straight_equivalent_low_s": timeline.straight_equivalent_low_s,
        "straight_equivalent_high_s": timeline.straight_equivalent_high_s,
        "saved_min": _number(timeline.minutes_saved),
        "assumed_rests": list(timeline.assumed_rests),
        "assumed_work": list(timeline.assumed_work),
        "blocks": [
            {
                "block_index": block.block_index,
                "kind": block.kind,
                "label": block.label,
                "low_s": block.low_s,
                "high_s": block.high_s,
                "rounds_low": block.rounds_low,
                "rounds_high": block.rounds_high,
            }
            for block in timeline.blocks
        ],
        "muscle_rests": [{"muscle": muscle, **_rest(rest)} for muscle, rest in timeline.muscle_rests.items()],
    }
    if events:
        document["events"] = [_event(event) for event in timeline.events]
    return document


def _event(event: Event) -> dict[str, Any]:
    return {
        "kind": event.kind,
        "block_index": event.block_index,
        "slot_key": event.slot_key,
        "set_number": event.set_number,
        "start_low_s": event.start_low_s,
        "start_high_s": event.start_high_s,
        "low_s": event.low_s,
        "high_s": event.high_s,
        "assumed": event.assumed,
    }


def _slot(slot: SlotAnalysis) -> dict[str, Any]:
    return {
        "slot_key": slot.slot_key,
        "exercise": slot.exercise,
        "effective_rest": _rest(slot.rest),
        "sets": [_group(group) for group in slot.groups],
    }


def _rest(rest: EffectiveRest) -> dict[str, Any]:
    return {
        "sets": rest.sets,
        "least_s": rest.least_s,
        "most_s": rest.most_s,
        "assumed": rest.assumed,
        "reason": rest.reason,
    }


def _group(group: SetGroupWork) -> dict[str, Any]:
    return {
        "count": group.count,
        "repetition_s": group.repetition_s,
        "performed": group.performed,
        "continuous": group.continuous,
        "tempo_class": group.tempo_class,
        "tut_least_s": group.tut_least_s,
        "tut_low_s": group.tut_low_s,
        "tut_high_s": group.tut_high_s,
        "tut_reason": group.tut_reason,
        "working_low_s": group.working_low_s,
        "working_high_s": group.working_high_s,
        "duration_low_s": group.duration_low_s,
        "duration_high_s": group.duration_high_s,
        "in_reserve": _number(group.in_reserve),
        "stimulus": {
            "heading": HEADING,
            "by_time_under_tension": _reading(group.stimulus.by_time),
            "by_load_and_repetitions": _reading(group.stimulus.by_load),
        },
    }


def _reading(reading: StimulusReading) -> dict[str, Any]:
    return {"trains": list(reading.trains), "reason": reading.reason, "source": reading.source}


def _volume(volume: Volume, tension: TensionTotal, *, weekly: bool) -> dict[str, Any]:
    muscles = []
    for muscle in volume.muscles:
        row: dict[str, Any] = {
            "muscle": muscle.muscle,
            "direct": muscle.direct,
            "fractional": _number(muscle.fractional),
            "total": muscle.total,
            "unknown_effort": _number(muscle.unknown_effort),
        }
        if weekly:
            row["band"] = sets_band(muscle.fractional)
        muscles.append(row)
    return {
        "work_sets": volume.work_sets,
        "hard_sets": volume.hard_sets,
        "unknown_effort_sets": volume.unknown_effort_sets,
        "muscles": muscles,
        "push_sets": volume.balance.push_sets,
        "pull_sets": volume.balance.pull_sets,
        "knee_dominant_sets": volume.balance.knee_dominant_sets,
        "hip_dominant_sets": volume.balance.hip_dominant_sets,
        "tut_low_s": tension.low_s,
        "tut_high_s": tension.high_s,
        "tut_unknown_sets": tension.unknown_sets,
        "not_counted_slots": list(volume.not_counted_slots),
        "source": SETS_SOURCE,
    }


def finding_as_document(finding: Finding) -> dict[str, Any]:
    """Write a finding for the API."""
    return {
        "severity": finding.severity,
        "code": finding.code,
        "message": finding.message,
        "pointer": finding.pointer,
        "figure": _number(finding.figure),
        "bound": _number(finding.bound),
        "unit": finding.unit,
        "rule": finding.rule,
        "source": finding.source,
        "suggestion": finding.suggestion,
    }


def _number(value: Decimal | None) -> float | int | None:
    if value is None:
        return None
    return int(value) if value == value.to_integral_value() else float(value)
