"""Changes of many planned sessions, as they are asked for and answered."""

from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.unknown_fields import StrictSerializer
from programs.actions.bulk_change_results import (
    BulkChange,
    BulkResult,
    Excuse,
    MakeDeload,
    SessionsWanted,
    Shift,
    Swap,
    TakeBack,
)
from programs.prescription.constants import DELOAD_LOAD_PCT, DELOAD_SETS_PCT

BULK_KINDS = ("shift", "excuse", "deload", "swap", "as_prescribed")
BULK_OUTCOMES = ("changed", "unchanged", "conflict", "refused")
_FIELDS_OF = {
    "shift": {"days"},
    "excuse": {"reason"},
    "deload": {"sets_pct", "load_pct"},
    "swap": {"exercise", "instead"},
    "as_prescribed": set[str](),
}
_NEEDED = {"shift": ("days",), "swap": ("exercise", "instead")}
_IDS_AT_MOST = 1000
_CLIENTS_AT_MOST = 200


class ChangeSerializer(StrictSerializer):
    """What becomes of each session.

    `shift` takes `days`; `excuse` a `reason`; `deload` the share of the sets kept and the change of the load;
    `swap` the exercise to do `instead`; `as_prescribed` takes back what a session has otherwise than its version.
    """

    kind = serializers.ChoiceField(choices=list(BULK_KINDS))
    days = serializers.IntegerField(required=False, min_value=-366, max_value=366, help_text="Negative is earlier.")
    reason = serializers.CharField(required=False, max_length=200)
    sets_pct = serializers.DecimalField(
        required=False, max_digits=5, decimal_places=2, min_value=Decimal(1), max_value=Decimal(100)
    )
    load_pct = serializers.DecimalField(
        required=False, max_digits=5, decimal_places=2, min_value=Decimal(-90), max_value=Decimal(0)
    )
    exercise = serializers.CharField(required=False, max_length=60, help_text="Id or key.")
    instead = serializers.CharField(required=False, max_length=60, help_text="Id or key.")

    def validate(self, attrs: dict[str, Any]) -> BulkChange:
        """Check that the kind has its fields and no others, and return the change."""
        kind = attrs.pop("kind")
        faults = {
            name: [ErrorDetail(f"A change of kind {kind} has no {name}; leave it out.", code="field_not_used")]
            for name in attrs.keys() - _FIELDS_OF[kind]
        }
        faults |= {
            name: [ErrorDetail(f"A change of kind {kind} needs {name}.", code="required")]
            for name in _NEEDED.get(kind, ())
            if name not in attrs
        }
        if attrs.get("days") == 0:
            faults["days"] = [ErrorDetail("Shift by one day at least.", code="out_of_range")]
        if faults:
            raise ValidationError(faults)
        return _change(kind, attrs)


class BulkChangeSerializer(StrictSerializer):
    """Which sessions, by id or by clients and local dates, and what becomes of each."""

    planned_sessions = serializers.ListField(
        child=serializers.UUIDField(), required=False, min_length=1, max_length=_IDS_AT_MOST
    )
    clients = serializers.ListField(
        child=serializers.UUIDField(),
        required=False,
        min_length=1,
        max_length=_CLIENTS_AT_MOST,
        help_text="Everyone whom you may see where it is left out.",
    )
    from_date = serializers.DateField(required=False)
    to_date = serializers.DateField(required=False)
    change = ChangeSerializer()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that the sessions are named one way."""
        days = {"from_date", "to_date"}
        if "planned_sessions" in attrs and attrs.keys() & (days | {"clients"}):
            sentence = "Name sessions by id, or by clients and dates; not both."
            raise ValidationError({"planned_sessions": [ErrorDetail(sentence, code="one_selection")]})
        if "planned_sessions" not in attrs:
            _check_days(attrs)
        return attrs


class BulkResultSerializer(serializers.Serializer[Any]):
    """What became of one session; `code` and `detail` say why not."""

    planned_session = serializers.UUIDField()
    client = serializers.UUIDField(allow_null=True)
    local_date = serializers.DateField(allow_null=True)
    outcome = serializers.ChoiceField(choices=list(BULK_OUTCOMES))
    code = serializers.CharField(help_text="Empty when changed.")
    detail = serializers.CharField(help_text="Empty when changed.")


class BulkResultsSerializer(serializers.Serializer[Any]):
    """One result per session: in the order of the ids sent, else by local date."""

    summary = serializers.DictField(child=serializers.IntegerField(), help_text="How many of each outcome.")
    results = BulkResultSerializer(many=True)


def sessions_wanted(body: dict[str, Any]) -> SessionsWanted:
    """Return which sessions a body names."""
    return SessionsWanted(
        session_ids=body.get("planned_sessions"),
        client_ids=body.get("clients"),
        first=body.get("from_date"),
        last=body.get("to_date"),
    )


def show_bulk_results(results: Sequence[BulkResult]) -> dict[str, Any]:
    """Return the results of a call as they are read."""
    outcomes: list[str] = [result.outcome for result in results]
    return {
        "summary": {outcome: outcomes.count(outcome) for outcome in BULK_OUTCOMES},
        "results": [_result(result) for result in results],
    }


def _result(result: BulkResult) -> dict[str, Any]:
    shown = asdict(result)
    return {"planned_session": shown.pop("planned_session_id"), "client": shown.pop("client_id"), **shown}


def _check_days(attrs: dict[str, Any]) -> None:
    faults = {
        name: [ErrorDetail("Name the sessions by id, or send the days from and to.", code="required")]
        for name in ("from_date", "to_date")
        if name not in attrs
    }
    if not faults and attrs["to_date"] < attrs["from_date"]:
        faults["to_date"] = [ErrorDetail("The last day is before the first; swap them.", code="days_order")]
    if faults:
        raise ValidationError(faults)


def _change(kind: str, fields: dict[str, Any]) -> BulkChange:
    match kind:
        case "shift":
            return Shift(fields["days"])
        case "excuse":
            return Excuse(fields.get("reason", ""))
        case "deload":
            return MakeDeload(fields.get("sets_pct", DELOAD_SETS_PCT), fields.get("load_pct", DELOAD_LOAD_PCT))
        case "swap":
            return Swap(fields["exercise"], fields["instead"])
        case _:
            return TakeBack()
