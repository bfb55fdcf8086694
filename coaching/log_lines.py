"""Lines of the log: one to a record, without secrets or addresses of people, whatever was logged.

The last line of defence: code logs ids and names of things, and what slips through is blanked here.
"""

import logging
import re
from typing import Final

SECURITY_LOGGER: Final = "coaching.security"
"""Who was let in, who was not, and what leaves the service in bulk; always on."""

_BLANK: Final = "[...]"
_RULES: Final[tuple[tuple[re.Pattern[str], str], ...]] = (
    # What PostgreSQL quotes of a row, and of the values that a statement was given.
    (re.compile(r"(?m)^((?:DETAIL|CONTEXT|QUERY|STATEMENT|LINE \d+):)\s.*$"), rf"\1 {_BLANK}"),
    (re.compile(r"(?i)\b(authorization\b\W{1,8}(?:bearer|basic|token)?\s*)[^\s'\",}]+"), rf"\1{_BLANK}"),
    (re.compile(r"(?i)\b(bearer\s+)[^\s'\",}]+"), rf"\1{_BLANK}"),
    (re.compile(r"\bcp_[A-Za-z0-9]+_[A-Za-z0-9_-]+"), f"cp_{_BLANK}"),
    (
        re.compile(r"(?i)\b(\w*(?:password|passwd|secret|token|api_key|otp|recovery_code)\w*['\"]?\s*[=:]\s*)"
                   r"(?:'[^']*'|\"[^\"]*\"|[^\s,;&}'\"]+)"),
        rf"\1{_BLANK}",
    ),
    # user:password@ of an address, and what follows ? in one.
    (re.compile(r"(://[^\s:/@]*:)[^\s/@]+(?=@)"), rf"\1{_BLANK}"),
    (re.compile(r"(/[\w./-]*\?)[^\s'\"]+"), rf"\1{_BLANK}"),
    # Paths whose last part is the credential itself: links in mails, calendars, downloads.
    (re.compile(r"(/(?:account|calendar|calendars|downloads?|links?|unsubscribe)(?:/[a-z-]{1,40})*/)[^\s/'\"?]{12,}"),
     rf"\1{_BLANK}"),
    # Signed values, digests, session tokens: long runs of letters and digits that are no words.
    (re.compile(r"\b[A-Za-z0-9_=-]{16,}(?::[A-Za-z0-9_-]+){1,2}"), _BLANK),
    (re.compile(r"\b(?=[A-Za-z_-]*\d)[A-Za-z0-9_-]{40,}"), _BLANK),
    (re.compile(r"[A-Za-z0-9.!#$%&*+/=?^_`{|}~-]+@[A-Za-z0-9-]+(?:\.[A-Za-z0-9-]+)+"), f"{_BLANK}@{_BLANK}"),
)  # fmt: skip
_CONTROLS: Final = {code: f"\\x{code:02x}" for code in (*range(32), *range(127, 160))} | {
    ord("\n"): "\\n",
    ord("\r"): "\\r",
    ord("\t"): "\\t",
    0x2028: "\\u2028",
    0x2029: "\\u2029",
}


def redacted(text: str) -> str:
    """Return a text with whatever looks like a secret or an email address blanked."""
    for pattern, instead in _RULES:
        text = pattern.sub(instead, text)
    return text


def one_line(text: str) -> str:
    """Return a text in which nothing can begin a new line or move the reader's cursor."""
    return text.translate(_CONTROLS)


class LogLine(logging.Formatter):
    """Writes a record, its stack included, as one redacted line."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        return one_line(redacted(super().format(record)))
