"""Connections that send hardly anything are cut off; slow ones that go on sending are read to the end."""

import socket
import threading
import time
from collections.abc import Iterator

import pytest
from gunicorn.http.errors import NoMoreData  # type: ignore[import-untyped]  # the library has no types

from coaching.config import slow_clients
from coaching.config.slow_clients import PatientUnreader

PATIENCE_S = 0.2


@pytest.fixture
def ends(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[socket.socket, socket.socket]]:
    """The client's and the server's end of a connection."""
    monkeypatch.setattr(slow_clients, "PATIENCE_S", PATIENCE_S)
    client, server = socket.socketpair()
    with client, server:
        yield client, server


def _send(client: socket.socket, piece: bytes, *, every_s: float, ended: threading.Event) -> threading.Thread:
    def send() -> None:
        while not ended.wait(every_s):
            client.sendall(piece)

    thread = threading.Thread(target=send)
    thread.start()
    return thread


def test_a_client_that_falls_silent_is_given_up(ends: tuple[socket.socket, socket.socket]) -> None:
    client, server = ends
    reader = PatientUnreader(server)
    client.sendall(b"GET /healthz HT")
    assert reader.chunk() == b"GET /healthz HT"
    for _ in range(2):
        with pytest.raises(NoMoreData):
            reader.chunk()


@pytest.mark.parametrize(("piece", "read"), [(b"x", False), (b"x" * 4096, True)], ids=["a trickle", "a slow upload"])
def test_a_trickle_is_given_up_however_steady_and_a_slow_upload_is_read(
    ends: tuple[socket.socket, socket.socket], piece: bytes, read: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, server = ends
    # A loaded machine may stop the sender for a while, too.
    monkeypatch.setattr(slow_clients, "PATIENCE_S", 1.0)
    reader, ended = PatientUnreader(server), threading.Event()
    thread = _send(client, piece, every_s=0.04, ended=ended)
    got = 0
    try:
        for _ in range(50):
            got += len(reader.chunk(len(piece)))
    except NoMoreData:
        assert not read
    else:
        assert read
        assert got > 8192
    finally:
        ended.set()
        thread.join()


def test_what_one_request_sent_earns_no_more_than_the_usual_patience(
    ends: tuple[socket.socket, socket.socket],
) -> None:
    client, server = ends
    reader = PatientUnreader(server)
    for _ in range(4):
        client.sendall(b"x" * 8192)
        reader.chunk(8192)
    began = time.monotonic()
    with pytest.raises(NoMoreData):
        reader.chunk()
    assert time.monotonic() - began < PATIENCE_S * 10, "four seconds, if it were added up"
    assert server.gettimeout() == slow_clients.TAKEN_WITHIN_S, "no answer waits for ever either"
