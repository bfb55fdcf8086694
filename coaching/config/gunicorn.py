"""The web server's settings: `gunicorn --config python:coaching.config.gunicorn coaching.config.wsgi:application`.

What it writes goes through the same redacted lines as all else; what it accepts is bounded before Django reads it.
"""

from typing import Any, Final

from gunicorn.glogging import Logger  # type: ignore[import-untyped]  # the library has no types
from gunicorn.http import parser, wsgi  # type: ignore[import-untyped]

from coaching.config.slow_clients import PatientUnreader
from coaching.log_lines import LogLine

workers: Final = 2
threads: Final = 4
timeout: Final = 60
graceful_timeout: Final = 20
keepalive: Final = 5

# A request line holds a path and a page's cursor; a header a credential. More than that is refused with 400 or 431.
limit_request_line: Final = 4094
limit_request_fields: Final = 50
limit_request_field_size: Final = 8190

accesslog: Final = "-"
# No query, no user agent, no address: the request's id finds the rest in the audit trail.
access_log_format: Final = "%(m)s %(U)s %(s)s %(B)s bytes %(M)s ms request %({x-request-id}o)s"


class RedactedLogger(Logger):  # type: ignore[misc]  # the library has no types
    """Gunicorn's own two logs, in our lines."""

    def setup(self, cfg: Any) -> None:
        """Put our formatter on every handler that was set up."""
        super().setup(cfg)
        for log, form in ((self.error_log, self.error_fmt), (self.access_log, "%(asctime)s INFO access %(message)s")):
            for handler in log.handlers:
                handler.setFormatter(LogLine(form))


logger_class: Final = RedactedLogger


def _headers_without_server(response: Any) -> list[str]:
    return [line for line in _headers_of(response) if not line.startswith("Server:")]


# There is no setting for it: which server answers is nobody's business.
_headers_of: Final = wsgi.Response.default_headers
wsgi.Response.default_headers = _headers_without_server

# Nor for this: its own reads a connection for as long as the client likes.
parser.SocketUnreader = PatientUnreader
