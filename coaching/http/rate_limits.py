"""How often a caller may ask: counted in Redis, told on every answer, and never in the way when Redis is.

The fields follow draft-ietf-httpapi-ratelimit-headers-10, which may still change: they are written here only.
"""

import logging
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from ipaddress import IPv6Address, ip_address, ip_network
from math import ceil
from threading import Lock
from typing import Any, Final
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase
from django.utils.crypto import salted_hmac
from limits import RateLimitItemPerSecond
from limits.storage import RedisStorage
from limits.strategies import SlidingWindowCounterRateLimiter
from redis import RedisError
from redis.backoff import NoBackoff
from redis.retry import Retry

from coaching.http.addresses import client_address
from coaching.http.problem_documents import Problem, problem_response
from coaching.http.rate_policy import WINDOW_S, RateClass, class_of

_LOG: Final = logging.getLogger(__name__)
TIMEOUT_S: Final = 0.1
OPEN_S: Final = 5.0
KEY_PREFIX: Final = "counterpoise:rate"
_NEIGHBOURS_BITS: Final = 64
# Health checks answer the operator's own machine, again and again.
_UNCOUNTED: Final = frozenset({"healthz", "readyz", "detection"})


class Circuit:
    """Stops asking a server that does not answer; one request at a time finds out whether it does again."""

    def __init__(self, open_s: float) -> None:
        self._open_s = open_s
        self._until = 0.0
        self._lock = Lock()
        self.trips = 0

    def admits(self) -> bool:
        """Say whether to ask the server now."""
        with self._lock:
            if not self._until:
                return True
            now = time.monotonic()
            if now < self._until:
                return False
            self._until = now + self._open_s
            return True

    def close(self) -> None:
        """Note that the server answered."""
        if self._until:
            with self._lock:
                self._until = 0.0
            _LOG.warning("rate limits count again")

    def trip(self, error: Exception) -> None:
        """Note that the server did not answer."""
        with self._lock:
            first, self._until = not self._until, time.monotonic() + self._open_s
            self.trips += 1
        if first:
            _LOG.warning("rate limits are off until Redis answers again: %s", type(error).__name__)


@dataclass(frozen=True, slots=True)
class _Counter:
    limiter: SlidingWindowCounterRateLimiter
    circuit: Circuit


@dataclass(frozen=True, slots=True)
class _Caller:
    """Whose quota it is: ids and digests only, since Redis keeps them."""

    key: str
    rate_class: RateClass


def admit(request: HttpRequest, operation: str, credential: tuple[UUID, UUID] | None) -> None:
    """Count a request of an operation against its caller's quota.

    Args:
        request: the request; its answer will tell what is left.
        operation: its name in the policy.
        credential: the ids of the business and of the credential; None counts by address.

    Raises:
        Problem: the quota is used up.
    """
    if credential is None:
        caller = _Caller(_address_key(request), RateClass.ANONYMOUS)
    else:
        named = class_of(operation, request.method or "", request.headers.get("Accept", ""))
        caller = _Caller("/".join(map(str, credential)), named)
    request.rate_caller = caller  # type: ignore[attr-defined]  # for `charge`, below
    _count(request, caller, 1)


def charge(request: HttpRequest, units: int) -> None:
    """Count what an admitted request turned out to cost in all.

    Raises:
        Problem: so much is not left; what the request changed is rolled back.
    """
    caller: _Caller | None = getattr(request, "rate_caller", None)
    if caller is not None and units > 1:
        _count(request, caller, units - 1)


def _count(request: HttpRequest, caller: _Caller, units: int) -> None:
    quota = RateLimitItemPerSecond(settings.RATE_LIMITS[caller.rate_class], WINDOW_S)
    fields = {"RateLimit-Policy": f'"{caller.rate_class}";q={quota.amount};w={WINDOW_S}'}
    request.rate_fields = fields  # type: ignore[attr-defined]  # read by the middleware
    counted = _hit(quota, caller.key, caller.rate_class, units)
    if counted is None:
        return
    admitted, left, reset_s = counted
    fields["RateLimit"] = f'"{caller.rate_class}";r={left};t={reset_s}'
    if not admitted:
        raise Problem(
            "quota_exceeded",
            f"You may spend {quota.amount} units of {caller.rate_class} in {WINDOW_S} seconds, and they are used up; "
            "send this again after Retry-After seconds, and fewer at once.",
            headers={"Retry-After": str(reset_s + ceil(units * WINDOW_S / quota.amount))},
            extra={"violated-policies": [str(caller.rate_class)]},
        )


def _hit(quota: RateLimitItemPerSecond, key: str, name: str, units: int) -> tuple[bool, int, int] | None:
    counter = _counter(settings.REDIS_URL)
    if not counter.circuit.admits():
        return None
    try:
        admitted = counter.limiter.hit(quota, key, name, cost=units)
        stats = counter.limiter.get_window_stats(quota, key, name)
    except (RedisError, OSError) as error:
        counter.circuit.trip(error)
        return None
    counter.circuit.close()
    return admitted, int(stats.remaining), max(0, ceil(stats.reset_time - time.time()))


@lru_cache(maxsize=4)
def _counter(url: str) -> _Counter:
    # One attempt and no more: what redis-py tries again by itself, the caller would wait for.
    options: dict[str, Any] = {
        "socket_timeout": TIMEOUT_S,
        "socket_connect_timeout": TIMEOUT_S,
        "retry": Retry(NoBackoff(), 0),
        # A new connection says no more than it must: each word more is an answer to wait for.
        "protocol": 2,
        "driver_info": None,
    }
    storage = RedisStorage(url, key_prefix=KEY_PREFIX, **options)
    return _Counter(SlidingWindowCounterRateLimiter(storage), Circuit(OPEN_S))


def _address_key(request: HttpRequest) -> str:
    address = ip_address(client_address(request))
    if isinstance(address, IPv6Address):
        # Whoever has one address of version 6 has its whole network of 64 bits.
        whole = str(ip_network((address, _NEIGHBOURS_BITS), strict=False))
    else:
        whole = str(address)
    return salted_hmac(KEY_PREFIX, whole, algorithm="sha256").hexdigest()


class RateLimitMiddleware:
    """Counts pages that are no operation by address, and tells on each answer what is left."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, and write the fields of what was counted."""
        response = self.get_response(request)
        fields: Mapping[str, str] = getattr(request, "rate_fields", {})
        for name, value in fields.items():
            response.headers[name] = value
        return response

    def process_view(self, request: HttpRequest, view: Any, _args: Any, _kwargs: Any) -> HttpResponseBase | None:
        """Count a page; operations are counted once their caller is known."""
        named = getattr(request.resolver_match, "url_name", None)
        if hasattr(getattr(view, "cls", None), "operations") or named in _UNCOUNTED:
            return None
        try:
            admit(request, "", None)
        except Problem as problem:
            return problem_response(problem, request)
        return None
