"""Written sessions, as they are posted and as they are read."""

from dataclasses import asdict
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import ProgressionRuleSerializer, SessionDocumentSerializer
from programs.api.serializers.figures import figures_of
from programs.prescription.document import encode_session
from programs.prescription.notation import WrittenFault
from programs.prescription.progression_document import encode_rule
from programs.selectors.written_sessions import WrittenProgression, WrittenSession

TEXT_MAX_CHARACTERS = 50_000
PROGRESSION_MAX_CHARACTERS = 10_000


class WrittenSessionSerializer(StrictSerializer):
    """A session as coaches write it, one exercise or block on a line; beside it, or alone, how its weeks go on."""

    text = serializers.CharField(
        required=False,
        max_length=TEXT_MAX_CHARACTERS,
        allow_blank=True,
        trim_whitespace=False,
        help_text="For example `A1. Bench press  4 x 6-8 @ 41X1, RPE 8, rest 90s`.",
    )
    progression = serializers.CharField(
        required=False,
        max_length=PROGRESSION_MAX_CHARACTERS,
        allow_blank=True,
        trim_whitespace=False,
        help_text=(
            "One rule on a line: `A1, B2 in lower-a: +2.5 kg every week`, `B1: 75, 80, 85 %` (from week 2 on), "
            "`A: double progression to 12, +1 kg`, `C1: eccentric +1 s to 6 s`, `rest -5 s to 45 s`, "
            "`wave +5 % -1 rep, +10 % -2 reps`, `deload every 4 weeks, 60 % of sets, -10 % load`."
        ),
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that there is something to read."""
        if not attrs:
            sentence = "Send text, a session as it is written, or progression, or both."
            raise ValidationError({"text": [ErrorDetail(sentence, code="required")]})
        return attrs


class ParsedSessionSerializer(serializers.Serializer[Any]):
    """What was read. A fault of severity `error` was not read as written; everything else in the text was."""

    session = SessionDocumentSerializer(allow_null=True, help_text="Null where no exercise could be read.")
    written = serializers.CharField(
        allow_null=True, help_text="The session in the service's own spelling; null where there are errors."
    )
    faults = figures_of(WrittenFault)(many=True)
    lines = serializers.DictField(
        child=serializers.IntegerField(), help_text="The line of each block and slot, by its JSON Pointer in `session`."
    )


class ParsedProgressionSerializer(serializers.Serializer[Any]):
    """The rules that were read, for a version's content; a line with a fault is left out."""

    rules = ProgressionRuleSerializer(many=True)
    written = serializers.CharField(
        allow_null=True, help_text="The rules in the service's own spelling; null where there are errors."
    )
    faults = figures_of(WrittenFault)(many=True)
    lines = serializers.ListField(child=serializers.IntegerField(), help_text="The line of each rule.")


class ParsedTextSerializer(ParsedSessionSerializer):
    """What was read of a session, empty where none was sent, and of a progression, null where none was sent."""

    progression = ParsedProgressionSerializer(allow_null=True)


def show_parsed_text(read: WrittenSession | None, progression: WrittenProgression | None) -> dict[str, Any]:
    """Return a session and a progression as read."""
    nothing: dict[str, Any] = {"session": None, "written": None, "faults": [], "lines": {}}
    return {
        **(nothing if read is None else show_parsed_session(read)),
        "progression": None if progression is None else _show_progression(progression),
    }


def _show_progression(read: WrittenProgression) -> dict[str, Any]:
    return {
        "rules": [encode_rule(rule) for rule in read.result.rules],
        "written": read.written,
        "faults": [asdict(fault) for fault in read.result.faults],
        "lines": list(read.result.lines),
    }


def show_parsed_session(read: WrittenSession) -> dict[str, Any]:
    """Return a session as read."""
    result = read.result
    return {
        "session": encode_session(result.session) if result.session.blocks else None,
        "written": read.written,
        "faults": [asdict(fault) for fault in result.faults],
        "lines": dict(result.lines),
    }
