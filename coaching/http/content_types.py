"""What a body says that it is: one of the types that the operation reads, in UTF-8, as it is."""

from collections.abc import Iterable
from typing import Any, Final

from django.http import HttpRequest

from coaching.http.problem_documents import Problem

_CHARSETS: Final = frozenset({"", "utf-8", "utf8"})
_AS_IT_IS: Final = frozenset({"", "identity"})


def check_content_type(request: HttpRequest, parsers: Iterable[Any]) -> None:
    """Refuse a body of another type than the operation reads; where there is no body, its type says nothing.

    Args:
        request: the request, its body read within the limit.
        parsers: what the operation reads bodies with; `any_charset` of one says that the file itself tells.

    Raises:
        Problem: the type is missing or another, the charset is not UTF-8, or the body is compressed.
    """
    if not request.body:
        return
    if request.headers.get("Content-Encoding", "").strip().lower() not in _AS_IT_IS:
        raise Problem("unsupported_media_type", "Send the body as it is, without Content-Encoding.")
    by_type = {parser.media_type: parser for parser in parsers}
    sent = (request.content_type or "").strip().lower()
    parser = by_type.get(sent)
    if parser is None:
        offered = " or ".join(by_type)
        raise Problem(
            "unsupported_media_type", f"Send the body as {offered}, and say so in Content-Type, not {sent[:60]!r}."
        )
    charset = (request.content_params or {}).get("charset", "").lower()
    if charset not in _CHARSETS and not getattr(parser, "any_charset", False):
        raise Problem("unsupported_media_type", f"Send the body in UTF-8, not in {charset[:40]!r}.")
