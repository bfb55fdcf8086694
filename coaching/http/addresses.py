"""Where a request comes from."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest

UNKNOWN_ADDRESS = "0.0.0.0"  # noqa: S104 -- a caller without an address, not one to listen at


def client_address(request: HttpRequest) -> str:
    """Return the caller's network address, in its canonical text.

    Behind a proxy that is the last hop it wrote into `X-Forwarded-For`: what stands before it, the caller may have
    written themselves. Without a proxy the header is not read at all.
    """
    written = request.META.get("REMOTE_ADDR", "")
    if settings.BEHIND_PROXY:
        written = request.headers.get("X-Forwarded-For", written).rpartition(",")[2].strip()
    try:
        return str(ip_address(written))
    except ValueError:
        return UNKNOWN_ADDRESS
