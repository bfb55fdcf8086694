"""Uploaded tables: as the whole body, or as the one file of a form."""

from collections.abc import Mapping
from typing import Any, Final

from rest_framework.exceptions import UnsupportedMediaType
from rest_framework.parsers import BaseParser, MultiPartParser
from rest_framework.request import Request

from coaching.http.problem_documents import Problem
from coaching.refusals import Fault, Invalid

CSV_TYPE: Final = "text/csv"
XLSX_TYPE: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FORM_TYPE: Final = "multipart/form-data"
FILE: Final = "file"
UPLOAD_BODIES: Final[dict[Any, Any]] = {
    CSV_TYPE: {"type": "string", "format": "binary"},
    XLSX_TYPE: {"type": "string", "format": "binary"},
    FORM_TYPE: {
        "type": "object",
        "required": [FILE],
        "properties": {FILE: {"type": "string", "format": "binary", "description": "The CSV or XLSX file."}},
    },
}
"""The bodies of an upload, for the documentation."""


class _WholeBodyParser(BaseParser):
    def parse(self, stream: Any, _media_type: str | None = None, _context: Mapping[str, Any] | None = None) -> Any:
        """Return the bytes, under the name that a form would give them."""
        return {FILE: stream.read()}


class CsvParser(_WholeBodyParser):
    """Takes `text/csv`, whatever its charset: the file itself tells."""

    media_type = CSV_TYPE
    any_charset = True


class XlsxParser(_WholeBodyParser):
    """Takes a spreadsheet."""

    media_type = XLSX_TYPE


UPLOAD_PARSERS: Final = (CsvParser, XlsxParser, MultiPartParser)


def uploaded_file(request: Request) -> bytes:
    """Return the one file of a request.

    Raises:
        Problem: the body is of another type.
        Invalid: there is no file, or something beside it.
    """
    try:
        sent = request.data
    except UnsupportedMediaType:
        raise Problem(
            "unsupported_media_type",
            f"Send the file as {CSV_TYPE}, as {XLSX_TYPE}, or as the field {FILE!r} of a {FORM_TYPE} form.",
        ) from None
    extra = [name for name in sent if name != FILE]
    files = sent.getlist(FILE) if hasattr(sent, "getlist") else [sent.get(FILE, b"")]
    if extra or len(files) != 1:
        name = extra[0] if extra else FILE
        raise Invalid(
            f"The form holds exactly one field, {FILE!r}; options go into the query.",
            faults=[Fault(f"#/{name[:60]}", "unknown_field" if extra else "required", f"Send one file as {FILE!r}.")],
        )
    content: bytes = files[0] if isinstance(files[0], bytes) else _read(files[0])
    if not content:
        raise Invalid.at("#", "The file is empty; send the table with its header.", "no_rows")
    return content


def _read(part: Any) -> bytes:
    if isinstance(part, str):
        raise Invalid.at(f"#/{FILE}", "This part of the form has no filename, so it is no file.", "not_a_file")
    content: bytes = part.read()
    return content
