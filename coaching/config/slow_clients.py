"""Clients that send slower than any real network: cut off, so that a few of them can't hold every thread.

Gunicorn's threads wait for a request's bytes without end: a phone that lost its network in mid-request, or somebody
who sends one byte a second, would hold one for as long as they like.
"""

import time
from typing import Any, Final

from gunicorn.http.errors import NoMoreData  # type: ignore[import-untyped]  # the library has no types
from gunicorn.http.unreader import SocketUnreader  # type: ignore[import-untyped]

PATIENCE_S: Final = 10.0
"""How long a client may be silent in the middle of a request. Practice."""

LEAST_BYTES_PER_S: Final = 8 * 1024
"""What a client sends at least, silences included, once its patience is used up: a bad mobile network. Practice."""

TAKEN_WITHIN_S: Final = 60.0
"""How long a client may take to read a piece of an answer. Practice."""


class PatientUnreader(SocketUnreader):  # type: ignore[misc]  # the library has no types
    """Reads a connection; waiting uses patience up, and what arrives earns it back."""

    def __init__(self, sock: Any, *options: Any) -> None:
        super().__init__(sock, *options)
        self._left_s = PATIENCE_S

    def chunk(self, size_hint: int | None = None) -> bytes:
        """Return the next bytes.

        Raises:
            NoMoreData: the client is too slow; gunicorn closes its connection.
        """
        if self._left_s <= 0:
            raise NoMoreData
        # Gunicorn itself bounds some reads, such as what it throws away.
        bound = self.sock.gettimeout()
        self.sock.settimeout(self._left_s if bound is None else min(bound, self._left_s))
        began = time.monotonic()
        try:
            data: bytes = super().chunk(size_hint)
        except TimeoutError:
            raise NoMoreData from None
        finally:
            self._left_s -= time.monotonic() - began
            self.sock.settimeout(TAKEN_WITHIN_S)
        self._left_s = min(PATIENCE_S, self._left_s + len(data) / LEAST_BYTES_PER_S)
        return data
