"""One email over real SMTP: what it says of itself, and which refusals are final."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from coaching.delivery import email
from coaching.delivery.email import DeliveryRefused, send_email
from coaching.registry import Rendered
from tests.smtp_server import Letter, SmtpSink

SENDER = "Counterpoise <alerts@example.com>"
MESSAGE_ID = "<0190-1@example.com>"


def _send(**changes: Any) -> None:
    said: dict[str, Any] = {
        "to": "Cora <cora@example.com>",
        "subject": "2 sessions missed",
        "text": "Ünï: the text",
        "html": "<p>the page</p>",
    }
    send_email(message=Rendered(**said | changes), sender=SENDER, message_id=MESSAGE_ID)


def _sent(smtp: SmtpSink, **changes: Any) -> Letter:
    _send(**changes)
    (letter,) = smtp.letters
    return letter


def _refusal(**changes: Any) -> DeliveryRefused:
    with pytest.raises(DeliveryRefused) as caught:
        _send(**changes)
    return caught.value


def test_a_message_carries_text_and_html_under_the_id_given(smtp: SmtpSink) -> None:
    letter = _sent(smtp)
    assert (letter.sender, letter.to) == ("alerts@example.com", "cora@example.com")
    assert letter.message_id == MESSAGE_ID
    assert letter.text.strip() == "Ünï: the text"
    assert letter.html.strip() == "<p>the page</p>"
    assert letter.message["Auto-Submitted"] == "auto-generated"
    assert letter.message.get_content_type() == "multipart/alternative"


def test_a_name_with_a_comma_stays_one_address(smtp: SmtpSink) -> None:
    letter = _sent(smtp, to='"Eve, boss@example.net" <eve@example.com>')
    assert letter.to == "eve@example.com"
    assert [address.addr_spec for address in letter.message["To"].addresses] == ["eve@example.com"]


def test_a_line_break_in_a_subject_makes_no_header(smtp: SmtpSink) -> None:
    letter = _sent(smtp, subject="1 session missed\r\nBcc: spy@example.net")
    assert letter.message["Bcc"] is None
    assert letter.subject == "1 session missed Bcc: spy@example.net"


def test_lines_that_begin_with_a_dot_arrive_whole(smtp: SmtpSink) -> None:
    assert _sent(smtp, text="above\n.\n..below\n").text.splitlines() == ["above", ".", "..below"]


def test_a_domain_outside_ascii_is_spelt_so_that_mail_servers_read_it(smtp: SmtpSink) -> None:
    assert _sent(smtp, to="cora@bücher.example").to == "cora@xn--bcher-kva.example"


@pytest.mark.parametrize("address", ["", "nobody", "@example.com", "cörä@example.com", "a\r\nb@example.com@"])
def test_an_address_that_no_server_takes_is_refused_for_good_before_any_is_asked(smtp: SmtpSink, address: str) -> None:
    assert _refusal(to=address).final
    assert smtp.conversations == 0


@pytest.mark.parametrize(
    ("answer", "final"),
    [
        ("450 4.2.0 Later", False),
        ("421 4.3.2 Closing", False),
        ("550 5.1.1 Nobody here", True),
        ("data: 451 4.3.0 Later", False),
        ("data: 552 5.2.3 Too large", True),
    ],
)
def test_a_5xx_about_the_message_is_final_and_a_4xx_is_not(smtp: SmtpSink, answer: str, final: bool) -> None:
    smtp.answer(answer)
    refusal = _refusal()
    assert refusal.final is final
    code_and_words = answer.removeprefix("data: ")
    assert all(word in str(refusal) for word in code_and_words.split())


def test_a_server_that_refuses_to_talk_at_all_says_nothing_of_the_message(settings: Any) -> None:
    with _raw_server(b"554 No mail today\r\n") as port:
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
        refusal = _refusal()
    assert not refusal.final
    assert "554" in str(refusal)


def test_a_sign_in_that_the_server_does_not_offer_is_the_operators_to_mend(smtp: SmtpSink, settings: Any) -> None:
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "user", "password"
    assert not _refusal().final


def test_a_server_that_drips_a_byte_now_and_then_is_hung_up_on(settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    # Each byte arrives well within the time for one answer; only the limit of the whole ends this.
    monkeypatch.setattr(email, "CONVERSATION_S", 0.3)
    with _raw_server(b"220-", drip=b"x") as port:
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
        assert not _refusal().final


@contextmanager
def _raw_server(greeting: bytes, *, drip: bytes = b"") -> Iterator[int]:
    stopped = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as server:

        def serve() -> None:
            connection, _address = server.accept()
            with connection:
                connection.sendall(greeting)
                while drip and not stopped.wait(0.02):
                    try:
                        connection.sendall(drip)
                    except OSError:
                        return

        thread = threading.Thread(target=serve)
        thread.start()
        try:
            yield server.getsockname()[1]
        finally:
            stopped.set()
            thread.join()
