"""Lift lines across clients, as they are read: the shapes."""

from typing import Any

from rest_framework import serializers

from logs.api.serializers.lifts import (
    LiftLineNameSerializer,
    LiftMethodsSerializer,
    LiftSourcesSerializer,
    LiftTrendSerializer,
    MatchedComparisonSerializer,
)


class ClientLineSerializer(LiftLineNameSerializer):
    """A line among those of many clients; its weekly values are Epley's."""

    client = serializers.UUIDField()
    client_name = serializers.CharField()
    latest_week = serializers.DateField()
    latest_kg = serializers.FloatField()
    trend = LiftTrendSerializer()
    matched = MatchedComparisonSerializer()


class LiftCountsSerializer(serializers.Serializer[Any]):
    """Lines by verdict, whatever verdicts are asked for."""

    improving = serializers.IntegerField()
    declining = serializers.IntegerField()
    plateau = serializers.IntegerField()
    undecided = serializers.IntegerField()
    not_enough_data = serializers.IntegerField()


class LiftTrendsSerializer(serializers.Serializer[Any]):
    """Lines of many clients."""

    items = ClientLineSerializer(many=True)
    next = serializers.URLField(allow_null=True)
    counts = LiftCountsSerializer()
    methods = LiftMethodsSerializer()
    sources = LiftSourcesSerializer()
    cautions = serializers.ListField(child=serializers.CharField())
