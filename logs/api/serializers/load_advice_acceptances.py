"""Load advice as it is accepted, and what became of it."""

from collections.abc import Mapping, Sequence
from typing import Any, Final, get_args

from rest_framework import serializers

from coaching.http.units import LoadSerializer
from coaching.http.unknown_fields import StrictSerializer
from logs.actions.load_acceptances import AcceptanceResult, AdviceAcceptance
from logs.api.serializers.load_advice import AdviceSerializer, show_advice
from programs.actions.accepted_loads import ApplyTo

APPLY_TO: Final = list(get_args(ApplyTo))
ACCEPTANCE_OUTCOMES: Final = ["accepted", "unchanged", "refused"]
ITEMS_AT_MOST: Final = 500


class AcceptanceSerializer(LoadSerializer):
    """Advice that is accepted; `load_kg` or `load_lb` is the coach's own load instead."""

    load_required = False

    planned_session = serializers.UUIDField()
    slot = serializers.CharField(max_length=60)
    basis = serializers.CharField(max_length=80, allow_blank=True, default="")
    apply_to = serializers.ChoiceField(choices=APPLY_TO, required=False)
    sets_and_rpe = serializers.BooleanField(
        default=True, help_text="Write the fewer sets and the lower RPE of a gap with the load."
    )


class AcceptancesSerializer(StrictSerializer):
    """Advice for many slots, accepted in one call."""

    items = AcceptanceSerializer(many=True, min_length=1, max_length=ITEMS_AT_MOST)  # type: ignore[call-arg]
    apply_to = serializers.ChoiceField(choices=APPLY_TO, required=False, default="session")


class AcceptanceResultSerializer(serializers.Serializer[Any]):
    """What became of an item; `code` and `detail` say why not."""

    planned_session = serializers.UUIDField()
    slot = serializers.CharField()
    outcome = serializers.ChoiceField(choices=ACCEPTANCE_OUTCOMES)
    code = serializers.CharField()
    detail = serializers.CharField()
    sessions = serializers.IntegerField(help_text="Into how many sessions it was written.")
    sets = serializers.IntegerField(allow_null=True, help_text="Leading sets written; null: left as they are.")
    rpe_most = serializers.FloatField(allow_null=True, help_text="Highest RPE written; null: left as it is.")
    cautions = serializers.ListField(child=serializers.CharField(), help_text="What to mind about a load of your own.")
    advice = AdviceSerializer(allow_null=True, help_text="What is advised now.")


class AcceptanceResultsSerializer(serializers.Serializer[Any]):
    """One result per item, in the order sent."""

    summary = serializers.DictField(child=serializers.IntegerField())
    results = AcceptanceResultSerializer(many=True)


def acceptances(body: Mapping[str, Any]) -> list[AdviceAcceptance]:
    """Return what a body accepts."""
    return [
        AdviceAcceptance(
            planned_session_id=item["planned_session"],
            slot_key=item["slot"],
            load=item["load"],
            basis=item["basis"],
            apply_to=item.get("apply_to", body["apply_to"]),
            sets_and_rpe=item["sets_and_rpe"],
        )
        for item in body["items"]
    ]


def show_results(results: Sequence[AcceptanceResult]) -> dict[str, Any]:
    """Return the results of a call as they are read."""
    outcomes: list[str] = [result.outcome for result in results]
    return {
        "summary": {outcome: outcomes.count(outcome) for outcome in ACCEPTANCE_OUTCOMES},
        "results": [
            {
                "planned_session": result.item.planned_session_id,
                "slot": result.item.slot_key,
                "outcome": result.outcome,
                "code": result.code,
                "detail": result.detail,
                "sessions": result.sessions,
                "sets": result.sets,
                "rpe_most": result.rpe_most,
                "cautions": result.cautions,
                "advice": None if result.advice is None else show_advice(result.advice, result.returns),
            }
            for result in results
        ],
    }
