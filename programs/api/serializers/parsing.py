"""Written sessions, as they are posted and as they are read."""

from dataclasses import asdict
from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import SessionDocumentSerializer
from programs.api.serializers.figures import figures_of
from programs.prescription.document import encode_session
from programs.prescription.notation import WrittenFault
from programs.selectors.written_sessions import WrittenSession

TEXT_MAX_CHARACTERS = 50_000


class WrittenSessionSerializer(StrictSerializer):
    """A session as coaches write it: one exercise or block on a line."""

    text = serializers.CharField(
        max_length=TEXT_MAX_CHARACTERS,
        allow_blank=True,
        trim_whitespace=False,
        help_text="For example `A1. Bench press  4 x 6-8 @ 41X1, RPE 8, rest 90s`.",
    )


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


def show_parsed_session(read: WrittenSession) -> dict[str, Any]:
    """Return a session as read."""
    result = read.result
    return {
        "session": encode_session(result.session) if result.session.blocks else None,
        "written": read.written,
        "faults": [asdict(fault) for fault in result.faults],
        "lines": dict(result.lines),
    }
