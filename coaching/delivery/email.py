"""Send one email over SMTP, and say whether a refusal is final."""

import smtplib
import socket
import ssl
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from email.utils import formataddr, parseaddr
from threading import Timer
from typing import Any, Final

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.core.mail.utils import DNS_NAME

from coaching.registry import Rendered

CONVERSATION_S: Final = 25
"""All of a conversation, below half of the outbox's lease: `EMAIL_TIMEOUT` bounds a single answer only,
so that a server that sends a byte now and then would hold a worker beyond any lease."""

PERMANENT: Final = range(500, 600)


class DeliveryRefused(Exception):  # noqa: N818 — a refusal is an answer, not an error of ours
    """The receiver refused, or did not answer.

    Attributes:
        final: whether trying again is pointless.
    """

    def __init__(self, sentence: str, *, final: bool) -> None:
        super().__init__(sentence)
        self.final = final


def send_email(*, message: Rendered, sender: str, message_id: str) -> None:
    """Send a message as text and HTML under a given Message-ID.

    Returning means that the server took it over (its answer to the message itself, not to the farewell).

    Raises:
        DeliveryRefused: when the server refused the receiver or the message (5xx: final), asked to come
            back (4xx), refused us (not final: the operator's to mend), or went away.
    """
    try:
        content = _written(message, sender, message_id)
        envelope = (_address(sender), _address(message.to))
    except ValueError as error:
        raise DeliveryRefused(f"It can't be written as an email: {error}"[:400], final=True) from error
    try:
        with _conversation() as server:
            server.sendmail(envelope[0], [envelope[1]], content)
    except smtplib.SMTPRecipientsRefused as error:
        code, answer = next(iter(error.recipients.values()))
        raise DeliveryRefused(_sentence(code, answer), final=code in PERMANENT) from error
    except smtplib.SMTPDataError as error:
        final = error.smtp_code in PERMANENT
        raise DeliveryRefused(_sentence(error.smtp_code, error.smtp_error), final=final) from error
    except smtplib.SMTPResponseException as error:
        # The greeting, the sign-in or the sender was refused: that says nothing of this message.
        raise DeliveryRefused(_sentence(error.smtp_code, error.smtp_error), final=False) from error
    except (OSError, smtplib.SMTPException) as error:
        raise DeliveryRefused(f"The mail server went away: {type(error).__name__}.", final=False) from error


class _Conversation(smtplib.SMTP):
    """A conversation that hangs up when all of it takes too long."""

    _timer: Timer | None = None

    def connect(self, host: str = "localhost", port: int = 0, source_address: Any = None) -> tuple[int, bytes]:
        self._hang_up_after(CONVERSATION_S)
        try:
            return super().connect(host, port, source_address)
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        super().close()

    def _hang_up_after(self, seconds: float) -> None:
        self._timer = Timer(seconds, self._hang_up)
        self._timer.daemon = True
        self._timer.start()

    def _hang_up(self) -> None:
        if self.sock is None:
            # Still looking up or reaching the host: there is nothing to hang up yet.
            self._hang_up_after(1)
            return
        with suppress(OSError):
            # The plain socket's own: the TLS one would tear its state from under the reading thread.
            socket.socket.shutdown(self.sock, socket.SHUT_RDWR)


class _TlsConversation(_Conversation, smtplib.SMTP_SSL):
    """The same, in TLS from the first byte."""


@contextmanager
def _conversation() -> Iterator[smtplib.SMTP]:
    where = (settings.EMAIL_HOST, settings.EMAIL_PORT, DNS_NAME.get_fqdn())
    server: smtplib.SMTP
    if settings.EMAIL_USE_SSL:
        server = _TlsConversation(*where, timeout=settings.EMAIL_TIMEOUT, context=ssl.create_default_context())
    else:
        server = _Conversation(*where, timeout=settings.EMAIL_TIMEOUT)
    try:
        if settings.EMAIL_USE_TLS:
            server.starttls(context=ssl.create_default_context())
        if settings.EMAIL_HOST_USER:
            server.login(settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD)
        yield server
        # The message is taken by now: a farewell that fails must not have it sent again.
        with suppress(OSError, smtplib.SMTPException):
            server.quit()
    finally:
        server.close()


def _written(message: Rendered, sender: str, message_id: str) -> bytes:
    # The name part of an address may hold a comma: only formataddr keeps it one address.
    email = EmailMultiAlternatives(
        subject=" ".join(message.subject.split()),
        body=message.text,
        from_email=sender,
        to=[formataddr((parseaddr(message.to)[0], _address(message.to)))],
        headers={"Message-ID": message_id, "Auto-Submitted": "auto-generated", **message.headers},
    )
    email.attach_alternative(message.html, "text/html")
    written: bytes = email.message().as_bytes(linesep="\r\n")
    return written


def _address(text: str) -> str:
    local_part, at, domain = parseaddr(text)[1].rpartition("@")
    if not (local_part and at and domain and local_part.isascii()):
        raise ValueError("the address has no form that every mail server takes.")
    return f"{local_part}@{domain.encode('idna').decode('ascii')}"


def _sentence(code: int, answer: bytes | str) -> str:
    text = answer.decode("utf-8", "replace") if isinstance(answer, bytes) else answer
    return f"The mail server answered {code}: {' '.join(text.split())[:300]}"
