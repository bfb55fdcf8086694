"""What comes next for a client, as it is read."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final, get_args
from uuid import UUID

from rest_framework import serializers

from logs.analysis.load_advice_returns import ReturnKind, ReturnRule
from logs.api.serializers.load_advice import CAUTIONS, AdviceSerializer, show_advice
from logs.selectors.load_advice import SessionAdvice, SlotAdvice
from programs.prescription.vocabulary import SET_KINDS

RETURN_KINDS: Final = list(get_args(ReturnKind))


class AdvisedSetGroupSerializer(serializers.Serializer[Any]):
    """Equal sets as the session has them; `/planned-sessions/{id}` has all of it. What is unset is null."""

    count = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=list(SET_KINDS))
    reps_low = serializers.IntegerField(allow_null=True)
    reps_high = serializers.IntegerField(allow_null=True)
    tempo = serializers.CharField(allow_null=True)
    rpe = serializers.CharField(allow_null=True)
    in_reserve = serializers.CharField(allow_null=True)
    to_limit = serializers.BooleanField()
    load_status = serializers.CharField()
    load_kg = serializers.CharField(allow_null=True, help_text="Text, exact.")
    load_lb = serializers.CharField(allow_null=True)
    resolved_from = serializers.CharField()


class AdvisedSlotSerializer(serializers.Serializer[Any]):
    """A slot with its advice."""

    slot_key = serializers.CharField()
    exercise = serializers.CharField()
    exercise_name = serializers.CharField()
    accepted_load_kg = serializers.FloatField(allow_null=True, help_text="Accepted from advice for this session.")
    rest_s = serializers.IntegerField(allow_null=True)
    notes = serializers.CharField()
    sets = AdvisedSetGroupSerializer(many=True)
    advice = AdviceSerializer()


class GapSerializer(serializers.Serializer[Any]):
    """What the days since the last training ask."""

    rule = serializers.ChoiceField(choices=RETURN_KINDS)
    gap_days = serializers.IntegerField(allow_null=True, help_text="To the day of the session; null: never trained.")
    last_trained = serializers.DateField(allow_null=True)
    load_cut_pct = serializers.FloatField(allow_null=True, help_text="Null: loads are found anew.")
    rpe_most = serializers.FloatField(allow_null=True)
    sentence = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # the base class has one too


class AdvisedSessionSerializer(serializers.Serializer[Any]):
    """The session that comes next."""

    id = serializers.UUIDField()
    assignment = serializers.UUIDField()
    title = serializers.CharField()
    week_number = serializers.IntegerField()
    day_number = serializers.IntegerField()
    deload = serializers.BooleanField()
    local_date = serializers.DateField()
    window_start = serializers.DateField()
    window_end = serializers.DateField()
    place = serializers.UUIDField(allow_null=True)
    place_name = serializers.CharField(allow_null=True)
    row_version = serializers.IntegerField()
    slots = AdvisedSlotSerializer(many=True)


class NextSessionSerializer(serializers.Serializer[Any]):
    """What comes next for a client; `session` is null with a `reason` where nothing is planned."""

    client = serializers.UUIDField()
    session = AdvisedSessionSerializer(allow_null=True)
    reason = serializers.CharField(allow_null=True)
    gap = GapSerializer(allow_null=True)
    cautions = serializers.ListField(child=serializers.CharField())


class AdvisedNextSessionSerializer(AdvisedSessionSerializer):
    """A client's next session with the slots asked for."""

    client = serializers.UUIDField()
    client_name = serializers.CharField()
    coach = serializers.UUIDField()
    gap = GapSerializer()
    cautions = serializers.ListField(child=serializers.CharField())


def show_next_sessions(sessions: Sequence[SessionAdvice], actions: Collection[str]) -> list[dict[str, Any]]:
    """Return sessions as they are read, with the slots that say one of the actions; those without any are left out."""
    return [shown for one in sessions if (shown := _of_list(one, actions))["slots"]]


def _of_list(found: SessionAdvice, actions: Collection[str]) -> dict[str, Any]:
    wanted = tuple(slot for slot in found.slots if not actions or slot.advice.action in actions)
    return {
        "client": found.row["client_id"],
        "client_name": found.row["client__name"],
        "coach": found.row["client__coach_id"],
        **_session(replace(found, slots=wanted)),
        "gap": _gap(found.returns),
        "cautions": [*found.returns.cautions, *CAUTIONS],
    }


def show_next_session(client_id: UUID, found: SessionAdvice | None) -> dict[str, Any]:
    """Return what comes next as it is read."""
    if found is None:
        return {"client": client_id, "session": None, "reason": "nothing_planned", "gap": None, "cautions": CAUTIONS}
    return {
        "client": client_id,
        "session": _session(found),
        "reason": None,
        "gap": _gap(found.returns),
        "cautions": [*found.returns.cautions, *CAUTIONS],
    }


def _session(found: SessionAdvice) -> dict[str, Any]:
    row = found.row
    plain = ("id", "title", "week_number", "day_number", "deload", "local_date", "window_start", "window_end")
    return {
        **{name: row[name] for name in plain},
        "assignment": row["assignment_id"],
        "place": row["place_id"],
        "place_name": row["place__name"],
        "row_version": row["row_version"],
        "slots": [
            {
                "slot_key": one.facts.slot_key,
                "exercise": one.facts.exercise.key,
                "exercise_name": one.facts.exercise.name,
                "accepted_load_kg": _accepted_kg(one),
                "rest_s": one.slot.get("rest_s"),
                "notes": one.slot.get("notes", ""),
                "sets": [_set_group(group) for group in one.slot["sets"]],
                "advice": show_advice(one, found.returns),
            }
            for one in found.slots
        ],
    }


def _accepted_kg(one: SlotAdvice) -> Decimal | None:
    accepted = one.slot.get("accepted_load")
    return None if accepted is None else Decimal(accepted["load_kg"])


def _set_group(group: Mapping[str, Any]) -> dict[str, Any]:
    asked = ("reps_low", "reps_high", "tempo", "rpe", "in_reserve", "load_kg", "load_lb")
    return {
        "count": group.get("count", 1),
        "kind": group.get("kind", "work"),
        **{name: group.get(name) for name in asked},
        "to_limit": bool(group.get("to_limit")),
        "load_status": group["load_status"],
        "resolved_from": group["resolved_from"],
    }


def _gap(returns: ReturnRule) -> dict[str, Any]:
    return {
        "rule": returns.kind,
        "gap_days": returns.gap_days,
        "last_trained": returns.last_trained,
        "load_cut_pct": returns.load_cut_pct,
        "rpe_most": returns.rpe_most,
        "sentence": returns.sentence,
        "source": returns.source,
    }
