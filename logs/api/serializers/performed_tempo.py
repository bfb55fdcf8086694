"""Tempo as performed, as it is read."""

from dataclasses import asdict
from typing import Any, Final

from rest_framework import serializers

from logs.analysis.constants import TEMPO_TOLERANCE_RATIO, TEMPO_TOLERANCE_S, TENSION_REACHED_RATIO
from logs.analysis.performed_tempo import PhaseComparison
from logs.analysis.tempo_counts import TempoCounts
from logs.analysis.time_under_tension import TensionTotal
from logs.selectors.performed_tempo import ClientTempo, LiftTempo, SessionTempo, TempoSummary
from logs.selectors.tempo_sets import TempoSet

METHOD: Final = (
    f"Seconds of each phase as a device or video measured them against the tempo asked; off by more than the larger of "
    f"{TEMPO_TOLERANCE_S} s and {TEMPO_TOLERANCE_RATIO * 100:.0f} % is a fault (practice). A set's duration alone "
    f"never tells which phase. Time under tension counts X and A as 1 s, and is reached from "
    f"{TENSION_REACHED_RATIO * 100:.0f} % of its lower bound on (practice). Trend: Theil-Sen slope of the weekly "
    "share of faulty sets with its 90 % interval, deload weeks left out."
)
CAUTIONS: Final = (
    "A slow concentric is never a fault: near failure it slows by itself.",
    "A set without a known tempo or without a measure is not judged, and nothing is held against anyone for it.",
)


class TempoFaultsSerializer(serializers.Serializer[Any]):
    """Sets by kind of fault; a set may have more than one kind."""

    rushed_eccentric = serializers.IntegerField()
    rushed_pause = serializers.IntegerField(help_text="A pause in which the muscle goes on working.")
    lingered_pause = serializers.IntegerField(help_text="The pause at the restful end.")


class TempoCountsSerializer(serializers.Serializer[Any]):
    """Sets by how much is known of their tempo."""

    sets_by_phases = serializers.IntegerField(help_text="Judged by measured phases.")
    sets_by_duration = serializers.IntegerField(help_text="Judged by the duration alone.")
    sets_not_measured = serializers.IntegerField(help_text="A tempo was asked and nothing measured.")
    sets_without_tempo = serializers.IntegerField()
    faulty_sets = serializers.IntegerField()
    faults = TempoFaultsSerializer()
    unasked_rest_sets = serializers.IntegerField(help_text="Rested where the tempo asks for no pause; no fault.")
    shorter_sets = serializers.IntegerField(help_text="By duration alone.")
    longer_sets = serializers.IntegerField(help_text="By duration alone; no fault.")
    fault_rate = serializers.FloatField(allow_null=True, help_text="Of the sets judged by phases, 0 to 1.")
    measured_rate = serializers.FloatField(allow_null=True, help_text="Of the sets with a tempo, 0 to 1.")


class PerformedTensionSerializer(serializers.Serializer[Any]):
    """Time under tension, meant and performed, over the sets of which both are known."""

    sets = serializers.IntegerField()
    reached_sets = serializers.IntegerField()
    meant_s = serializers.FloatField()
    performed_s = serializers.FloatField()
    performed_ratio = serializers.FloatField(allow_null=True)
    reached = serializers.BooleanField(allow_null=True)


class WeekTempoSerializer(serializers.Serializer[Any]):
    """A week's sets judged by phases."""

    week_start = serializers.DateField()
    deload = serializers.BooleanField(help_text="Left out of the trend.")
    sets = serializers.IntegerField()
    faulty_sets = serializers.IntegerField()
    fault_rate = serializers.FloatField(allow_null=True)


class TempoTrendSerializer(serializers.Serializer[Any]):
    """The weekly share of faulty sets over time."""

    direction = serializers.CharField(help_text="rising (more faults), falling, undecided or not_enough_weeks.")
    weeks = serializers.IntegerField()
    sets = serializers.IntegerField()
    per_week_pct = serializers.FloatField(allow_null=True, help_text="Percentage points a week; null under six weeks.")
    low_pct = serializers.FloatField(allow_null=True, help_text="Of the 90 % interval.")
    high_pct = serializers.FloatField(allow_null=True)
    earlier_faulty = serializers.IntegerField()
    earlier_sets = serializers.IntegerField()
    later_faulty = serializers.IntegerField()
    later_sets = serializers.IntegerField()


class TempoSummarySerializer(serializers.Serializer[Any]):
    """What is known of many sets' tempo."""

    counts = TempoCountsSerializer()
    time_under_tension = PerformedTensionSerializer()
    weeks = WeekTempoSerializer(many=True, help_text="Weeks with measured sets, oldest first.")
    trend = TempoTrendSerializer()
    sentences = serializers.ListField(child=serializers.CharField())


class LiftTempoSerializer(TempoSummarySerializer):
    """One lift's."""

    exercise = serializers.CharField()
    name = serializers.CharField()


class ClientTempoSerializer(serializers.Serializer[Any]):
    """How a client kept the tempos asked."""

    client = serializers.UUIDField()
    since = serializers.DateField(help_text="First day of the first week.")
    all_lifts = TempoSummarySerializer()
    lifts = LiftTempoSerializer(many=True, help_text="Lifts of which a tempo was asked.")
    method = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class PhaseSideBySideSerializer(serializers.Serializer[Any]):
    """A phase, asked and performed."""

    phase = serializers.CharField()
    words = serializers.CharField(allow_null=True, help_text="The exercise's own words for it.")
    asked_s = serializers.IntegerField(help_text="X and A on the concentric as 1; 0 is none asked.")
    performed_s = serializers.FloatField(allow_null=True)
    tolerance_s = serializers.FloatField(allow_null=True, help_text="Null where the phase is not judged.")
    fault = serializers.CharField(allow_null=True)
    unasked_rest = serializers.BooleanField()


class SetTensionSerializer(serializers.Serializer[Any]):
    """A set's time under tension."""

    meant_s = serializers.FloatField()
    meant_least_s = serializers.FloatField(help_text="With X and A as no time at all.")
    meant_from = serializers.CharField(help_text="planned_repetitions or done_repetitions.")
    performed_s = serializers.FloatField()
    reached = serializers.BooleanField()


class SetTempoSerializer(serializers.Serializer[Any]):
    """A set's tempo, asked and performed side by side."""

    set_log = serializers.UUIDField()
    exercise = serializers.CharField()
    name = serializers.CharField()
    slot = serializers.CharField()
    set_number = serializers.IntegerField()
    side = serializers.CharField()
    reps = serializers.IntegerField(allow_null=True)
    asked_tempo = serializers.CharField(allow_null=True)
    asked_from = serializers.CharField(help_text="set (its own text) or plan; empty when no tempo is known.")
    planned_tempo = serializers.CharField(allow_null=True, help_text="The planned slot's.")
    basis = serializers.CharField(help_text="phases, duration or none.")
    reason = serializers.CharField(help_text="judged, or why not.")
    phases = PhaseSideBySideSerializer(many=True, help_text="In the order they are performed.")
    faults = serializers.ListField(child=serializers.CharField())
    kept = serializers.BooleanField(allow_null=True, help_text="Null unless judged by phases.")
    overall = serializers.CharField(allow_null=True, help_text="By duration alone: shorter, as_meant or longer.")
    asked_repetition_s = serializers.IntegerField(allow_null=True)
    performed_repetition_s = serializers.FloatField(allow_null=True)
    time_under_tension = SetTensionSerializer(allow_null=True)


class SessionTempoSerializer(serializers.Serializer[Any]):
    """A session's sets side by side."""

    session_log = serializers.UUIDField()
    client = serializers.UUIDField()
    local_date = serializers.DateField()
    sets = SetTempoSerializer(many=True)
    counts = TempoCountsSerializer()
    time_under_tension = PerformedTensionSerializer()
    method = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


def show_client_tempo(found: ClientTempo) -> dict[str, Any]:
    """Return a client's tempo as it is read."""
    return {
        "client": found.client_id,
        "since": found.since,
        "all_lifts": _summary(found.summary),
        "lifts": [_lift(lift) for lift in found.lifts],
        "method": METHOD,
        "cautions": list(CAUTIONS),
    }


def show_session_tempo(found: SessionTempo) -> dict[str, Any]:
    """Return a session's tempo as it is read."""
    return {
        "session_log": found.session["id"],
        "client": found.session["client_id"],
        "local_date": found.session["local_date"],
        "sets": [_set(one) for one in found.sets],
        "counts": _counts(found.counts),
        "time_under_tension": _tension(found.tension),
        "method": METHOD,
        "cautions": list(CAUTIONS),
    }


def _lift(lift: LiftTempo) -> dict[str, Any]:
    return {"exercise": lift.exercise, "name": lift.name, **_summary(lift.summary)}


def _summary(summary: TempoSummary) -> dict[str, Any]:
    return {
        "counts": _counts(summary.counts),
        "time_under_tension": _tension(summary.tension),
        "weeks": [{**asdict(week), "fault_rate": week.fault_rate} for week in summary.weeks],
        "trend": asdict(summary.trend),
        "sentences": list(summary.sentences),
    }


def _counts(counts: TempoCounts) -> dict[str, Any]:
    return {**asdict(counts), "fault_rate": counts.fault_rate, "measured_rate": counts.measured_rate}


def _tension(total: TensionTotal) -> dict[str, Any]:
    return asdict(total)


def _set(one: TempoSet) -> dict[str, Any]:
    judged = one.judgement
    by_phase = {phase.phase: phase for phase in judged.phases}
    return {
        "set_log": one.set_log_id,
        "exercise": one.row["exercise__key"],
        "name": one.row["exercise__name"],
        "slot": one.row["slot_key"],
        "set_number": one.row["set_number"],
        "side": one.row["side"],
        "reps": one.performed.reps,
        "asked_tempo": str(one.asked) if one.asked else None,
        "asked_from": one.asked_from,
        "planned_tempo": str(one.planned) if one.planned else None,
        "basis": judged.basis,
        "reason": judged.reason,
        "phases": [_phase(by_phase[phase], one) for phase in one.order if phase in by_phase],
        "faults": list(judged.faults),
        "kept": judged.kept,
        "overall": judged.overall,
        "asked_repetition_s": judged.asked_repetition_s,
        "performed_repetition_s": judged.performed_repetition_s,
        "time_under_tension": {**asdict(one.tension), "reached": one.tension.reached} if one.tension else None,
    }


def _phase(compared: PhaseComparison, one: TempoSet) -> dict[str, Any]:
    return {**asdict(compared), "words": one.words.of(compared.phase) if one.words else None}
