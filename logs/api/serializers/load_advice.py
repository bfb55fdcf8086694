"""Load advice as it is read."""

from decimal import Decimal
from typing import Any, Final, get_args

from rest_framework import serializers

from coaching.http.units import LoadEnteredSerializer, LoadShownSerializer, show_load
from coaching.measures.load import LoadUnit
from logs.analysis.load_advice_outcomes import LiftOutcome, Verdict
from logs.analysis.load_advice_results import ACTIONS, Method, Reason
from logs.analysis.load_advice_returns import ReturnRule
from logs.analysis.load_advice_steps import change_between
from logs.selectors.load_advice import SlotAdvice
from programs.documents.card_loads import bar_words
from programs.prescription.plates import bar_loadings, takes_plates

ADVICE_ACTIONS: Final = list(ACTIONS)
ADVICE_REASONS: Final = list(get_args(Reason))
ADVICE_METHODS: Final = list(get_args(Method))
ADVICE_MISSING: Final = ["effort", "load", "bodyweight", "reference"]
LIFT_VERDICTS: Final = list(get_args(Verdict))

CAUTIONS: Final = (
    "Advice follows rules of practice from what was logged; the coach decides, and nothing changes until then.",
    "It knows no pain that nobody reported. It is no medical advice and clears nobody to train.",
)


class AdvicePlatesSerializer(serializers.Serializer[Any]):
    """What goes on one bar; the members end in `_kg` or in `_lb`, as the client loads."""

    words = serializers.CharField()
    bar_kg = serializers.FloatField(required=False)
    per_side_kg = serializers.ListField(child=serializers.FloatField(), required=False)
    made_kg = serializers.FloatField(required=False, help_text="What bar and plates weigh together.")
    left_over_kg = serializers.FloatField(required=False, help_text="What of the load the plates cannot make.")
    bar_lb = serializers.FloatField(required=False)
    per_side_lb = serializers.ListField(child=serializers.FloatField(), required=False)
    made_lb = serializers.FloatField(required=False)
    left_over_lb = serializers.FloatField(required=False)


class AdviceInputSerializer(serializers.Serializer[Any]):
    """A session's sets of the lift that the advice used; of a one-sided lift those of the weaker side."""

    session_log = serializers.UUIDField()
    local_date = serializers.DateField()
    load = LoadEnteredSerializer(allow_null=True, help_text="In the client's unit and the exercise's basis.")
    reps = serializers.ListField(child=serializers.IntegerField())
    in_reserve = serializers.ListField(child=serializers.FloatField(allow_null=True), help_text="Null: not logged.")
    verdict = serializers.ChoiceField(choices=LIFT_VERDICTS)


class AdviceSerializer(LoadShownSerializer):
    """What to load, and why."""

    action = serializers.ChoiceField(choices=ADVICE_ACTIONS)
    reason = serializers.ChoiceField(choices=ADVICE_REASONS)
    sentence = serializers.CharField()
    load_basis = serializers.CharField(help_text="What the load means; of a one-sided lift it is that of each side.")
    last = LoadEnteredSerializer(allow_null=True, help_text="The load last lifted.")
    step = LoadEnteredSerializer(allow_null=True, help_text="The change from it.")
    step_pct = serializers.FloatField(allow_null=True, help_text="Of the load moved, bodyweight included.")
    plates = AdvicePlatesSerializer(many=True, help_text="Of each usual bar, where plates are loaded.")
    sets = serializers.IntegerField(allow_null=True, help_text="Leading sets, fewer after a gap.")
    rpe_most = serializers.FloatField(allow_null=True, help_text="Highest RPE after a gap.")
    repetitions_first = serializers.IntegerField(allow_null=True, help_text="To reach before a step over a tenth.")
    missing = serializers.ListField(child=serializers.ChoiceField(choices=ADVICE_MISSING))
    suggestion = serializers.CharField(allow_null=True)
    method = serializers.ChoiceField(choices=ADVICE_METHODS)
    source = serializers.CharField()  # type: ignore[assignment]  # the base class has one too
    inputs = AdviceInputSerializer(many=True)
    basis = serializers.CharField(help_text="Send it when accepting; advice that rests on other logs is refused.")


def show_advice(one: SlotAdvice, returns: ReturnRule | None = None) -> dict[str, Any]:
    """Return advice as it is read."""
    advice, facts = one.advice, one.facts
    unit: LoadUnit = facts.grid.unit
    step, step_pct = change_between(facts, advice.last, advice.load)
    sets = None if facts.target is None else facts.target.sets
    return {
        **show_load(advice.load, unit),
        "action": advice.action,
        "reason": advice.reason,
        "sentence": advice.sentence,
        "load_basis": facts.exercise.load_basis,
        "last": _entered(advice.last, unit),
        "step": _entered(step, unit),
        "step_pct": step_pct,
        "plates": _plates(one),
        "sets": sets if sets is None or returns is None else returns.sets_left(sets),
        "rpe_most": None if returns is None else returns.rpe_most,
        "repetitions_first": advice.repetitions_first,
        "missing": advice.missing,
        "suggestion": advice.suggestion,
        "method": advice.method,
        "source": advice.source,
        "inputs": [_input(outcome, unit) for outcome in advice.inputs],
        "basis": one.basis,
    }


def _entered(value: Decimal | None, unit: LoadUnit) -> dict[str, Any] | None:
    return None if value is None else {"value": value, "unit": unit}


def _plates(one: SlotAdvice) -> list[dict[str, Any]]:
    load, unit = one.advice.load, one.facts.grid.unit
    if load is None or not takes_plates(one.facts.exercise):
        return []
    return [
        {
            "words": bar_words(found),
            f"bar_{unit}": found.bar,
            f"per_side_{unit}": found.per_side,
            f"made_{unit}": found.made,
            f"left_over_{unit}": found.left_over,
        }
        for found in bar_loadings(load, unit)
    ]


def _input(outcome: LiftOutcome, unit: LoadUnit) -> dict[str, Any]:
    return {
        "session_log": outcome.session,
        "local_date": outcome.local_date,
        "load": _entered(outcome.load, unit),
        "reps": outcome.reps,
        "in_reserve": outcome.reserves,
        "verdict": outcome.verdict,
    }
