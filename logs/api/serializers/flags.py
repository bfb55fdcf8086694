"""Flags, as they are read and settled."""

from collections.abc import Sequence
from typing import Any, Final, get_args

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from logs.analysis.readiness import FLAG_KINDS, Action, Severity
from logs.models.flags import Flag, FlagState

KINDS: Final = list(FLAG_KINDS)
SEVERITIES: Final = list(get_args(Severity))
ACTIONS: Final = list(get_args(Action))


class AcknowledgementSerializer(StrictSerializer):
    """Nothing needs to be said."""


class ResolutionSerializer(StrictSerializer):
    """Why a flag is settled."""

    resolution = serializers.CharField(
        max_length=500, required=False, allow_blank=True, help_text="What was found or done, in your words."
    )


class FlagSerializer(serializers.Serializer[Any]):
    """What needs a coach's eye: the finding, the figures behind it, the rule, and what it is not."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=KINDS)
    scope = serializers.CharField(
        help_text="`all`, `exercise:<key>` or `region:<site>`, with its side where one was said."
    )
    severity = serializers.ChoiceField(choices=SEVERITIES)
    action = serializers.ChoiceField(choices=ACTIONS, help_text="What is asked of the coach.")
    state = serializers.ChoiceField(choices=FlagState.choices)
    sentence = serializers.CharField()
    figures = serializers.DictField()
    rule = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # an attribute of DRF's own fields too
    cautions = serializers.ListField(child=serializers.CharField())
    opened_on = serializers.DateField(help_text="The client's local date.")
    opened_at = serializers.DateTimeField()
    updated_at = serializers.DateTimeField()
    closed_at = serializers.DateTimeField(allow_null=True)
    acknowledged_at = serializers.DateTimeField(allow_null=True)
    acknowledged_by = serializers.UUIDField(allow_null=True, help_text="The coach who has seen it.")
    resolved_at = serializers.DateTimeField(allow_null=True)
    resolved_by = serializers.UUIDField(allow_null=True, help_text="The coach who settled it.")
    resolution = serializers.CharField()
    row_version = serializers.IntegerField()


def show_flag(flag: Flag) -> dict[str, Any]:
    """Return a flag as it is read."""
    return {
        "id": flag.id,
        "client": flag.client_id,
        "kind": flag.kind,
        "scope": flag.scope,
        "severity": flag.severity,
        "action": flag.action,
        "state": flag.state,
        "sentence": flag.sentence,
        "figures": flag.figures,
        "rule": flag.rule,
        "source": flag.source,
        "cautions": [flag.caution] if flag.caution else [],
        "opened_on": flag.opened_on,
        "opened_at": flag.opened_at,
        "updated_at": flag.updated_at,
        "closed_at": flag.closed_at,
        "acknowledged_at": flag.acknowledged_at,
        "acknowledged_by": flag.acknowledged_by_id,
        "resolved_at": flag.resolved_at,
        "resolved_by": flag.resolved_by_id,
        "resolution": flag.resolution,
        "row_version": flag.row_version,
    }


def show_flags(flags: Sequence[Flag]) -> list[dict[str, Any]]:
    """Return flags as they are read."""
    return [show_flag(flag) for flag in flags]
