"""A mail server on loopback that keeps what it receives: the demo's mail goes nowhere else."""

import socket
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


class Mailbox:
    """Receives by SMTP; `messages` in the order they came."""

    def __init__(self) -> None:
        self.messages: list[EmailMessage] = []
        # The library must be told a port: take one that the system says is free.
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self._port: int = probe.getsockname()[1]
        self._controller: Any = Controller(self, hostname="127.0.0.1", port=self._port)

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:  # noqa: N802 — aiosmtpd's name
        """Keep a message."""
        content = envelope.content
        data = content if isinstance(content, bytes) else str(content).encode()
        self.messages.append(message_from_bytes(data, policy=policy.default))
        return "250 Kept"

    def start(self) -> str:
        """Listen on loopback; return the address as `EMAIL_URL` spells it."""
        self._controller.start()
        return f"smtp://127.0.0.1:{self._port}"

    def stop(self) -> None:
        """Stop listening."""
        self._controller.stop()
