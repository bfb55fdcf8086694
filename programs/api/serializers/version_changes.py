"""What changes between versions and from week to week, as it is read."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import VersionContentSerializer
from programs.api.serializers.figures import figures_of
from programs.prescription.constants import WEEKS_MAX
from programs.prescription.document import encode_version
from programs.prescription.findings import Finding
from programs.prescription.progression import ProgressionPreview
from programs.prescription.version_diff import Change
from programs.selectors.version_changes import VersionChanges

CHANGE_KINDS = ("changed", "added", "taken_out", "swapped")


class VersionChangeShownSerializer(serializers.Serializer[Any]):
    """One change, in words and in its parts; `weeks` are those in which it holds."""

    words = serializers.CharField(help_text="Such as `Back squat: 4x6 at 41X1 → 5x5 at 31X1, week 3`.")
    kind = serializers.ChoiceField(choices=list(CHANGE_KINDS))
    subject = serializers.CharField()
    before = serializers.CharField()
    after = serializers.CharField()
    template_key = serializers.CharField(allow_null=True)
    slot_key = serializers.CharField(allow_null=True)
    weeks = serializers.ListField(child=serializers.IntegerField())


class VersionDiffSerializer(serializers.Serializer[Any]):
    """What a version has otherwise than another one."""

    version = serializers.UUIDField()
    number = serializers.IntegerField()
    against = serializers.UUIDField()
    against_number = serializers.IntegerField()
    changes = VersionChangeShownSerializer(many=True)


class WeeksInSerializer(StrictSerializer):
    """How many weeks the version is to have; as many as are written where it is left out."""

    weeks = serializers.IntegerField(required=False, min_value=1, max_value=WEEKS_MAX)


class WeekChangesSerializer(serializers.Serializer[Any]):
    """What a week changes from the working week before it."""

    week_number = serializers.IntegerField()
    deload = serializers.BooleanField()
    compared_with = serializers.IntegerField(allow_null=True)
    changes = VersionChangeShownSerializer(many=True)


class VersionPreviewSerializer(serializers.Serializer[Any]):
    """The explicit weeks that publishing will store, what each changes, and the jumps that are planned."""

    content = VersionContentSerializer()
    weeks = WeekChangesSerializer(many=True)
    findings = figures_of(Finding)(many=True)


def show_version_changes(found: VersionChanges) -> dict[str, Any]:
    """Return what changes between two versions as it is read."""
    return {
        "version": found.version.id,
        "number": found.version.number,
        "against": found.against.id,
        "against_number": found.against.number,
        "changes": show_changes(found.changes),
    }


def show_preview(found: ProgressionPreview) -> dict[str, Any]:
    """Return a preview as it is read."""
    return {
        "content": encode_version(found.content),
        "weeks": [
            {
                "week_number": week.week_number,
                "deload": week.deload,
                "compared_with": week.compared_with,
                "changes": show_changes(week.changes),
            }
            for week in found.weeks
        ],
        "findings": [asdict(finding) for finding in found.findings],
    }


def show_changes(changes: Sequence[Change]) -> list[dict[str, Any]]:
    """Return changes as they are read, in words and in their parts."""
    return [{"words": str(change), **asdict(change)} for change in changes]
