"""The business, as its owner reads and changes it."""

from decimal import Decimal

from rest_framework import serializers

from coaching.http.fields import LocalTimeField, OriginField, TimeZoneField
from coaching.http.unknown_fields import StrictSerializer
from coaching.models.businesses import BusinessState, SecondFactorRule, Unit


class BusinessChangeSerializer(StrictSerializer):
    """What an owner may change."""

    name = serializers.CharField(max_length=200)
    time_zone = TimeZoneField()
    unit = serializers.ChoiceField(choices=Unit.choices)
    week_start = serializers.IntegerField(min_value=0, max_value=6, help_text="0 is Monday, 6 is Sunday.")
    default_session_min = serializers.IntegerField(min_value=10, max_value=240)
    day_ends_at = LocalTimeField(help_text="A log before this local time belongs to the day before.")
    grace_h = serializers.IntegerField(
        min_value=0, max_value=48, help_text="Hours after the local day until a session counts as missed."
    )
    digest_at = LocalTimeField(help_text="Local time of the coach's digest.")
    quiet_from = LocalTimeField(help_text="Nothing is sent to clients from this local time on.")
    quiet_until = LocalTimeField()
    missed_escalation_sessions = serializers.IntegerField(min_value=1, max_value=20)
    client_notes = serializers.BooleanField(help_text="Whether clients who opted in get a note of a missed session.")
    part_done_below_ratio = serializers.DecimalField(max_digits=3, decimal_places=2, min_value=0, max_value=1)
    negligible_pct_per_week = serializers.DecimalField(
        max_digits=3,
        decimal_places=2,
        min_value=Decimal("0.05"),
        max_value=5,
        help_text="Change of strength, percent a week, within which a trend's whole interval must lie to be a plateau.",
    )
    second_factor_required = serializers.ChoiceField(
        choices=SecondFactorRule.choices,
        help_text="Whose sessions can do nothing but set up a second factor until one stands; keys of programs are "
        "not touched.",
    )
    allowed_origins = serializers.ListField(
        child=OriginField(),
        max_length=20,
        help_text="Web pages of these origins may call the API from a browser (CORS); empty, none may.",
    )


class BusinessSerializer(BusinessChangeSerializer):
    """The business."""

    id = serializers.UUIDField()
    state = serializers.ChoiceField(choices=BusinessState.choices)
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
