"""A mail server of the tests' own: takes letters over real SMTP, or answers as it is told to."""

import asyncio
import email
import email.policy
import threading
from collections import deque
from dataclasses import dataclass, field
from email.message import EmailMessage
from typing import Any

from aiosmtpd.smtp import SMTP, Envelope, Session

HANG_UP = "hang up"
HANG_UP_AFTER_TAKING = "hang up after taking"
HOLD_BEFORE_TAKING = "hold before taking"
HOLD_AFTER_TAKING = "hold after taking"
TAKEN = "250 2.0.0 Taken"
PATIENCE_S = 30


@dataclass(frozen=True)
class Letter:
    """One message that the server took over."""

    sender: str
    to: str
    message: EmailMessage = field(repr=False)

    @property
    def message_id(self) -> str:
        return str(self.message["Message-ID"])

    @property
    def subject(self) -> str:
        return str(self.message["Subject"])

    @property
    def text(self) -> str:
        return self._part("plain")

    @property
    def html(self) -> str:
        return self._part("html")

    def _part(self, kind: str) -> str:
        part = self.message.get_body((kind,))
        assert part is not None
        return str(part.get_content())


class Conversation(SMTP):
    """One conversation, and how it was told to end."""

    answer: str = TAKEN

    def hang_up(self) -> None:
        assert isinstance(self.transport, asyncio.Transport)
        self.transport.abort()


class SmtpSink:
    """Listens on a free port of the loopback until stopped.

    `answer` scripts the next conversations, in turn: an SMTP answer such as `450 4.2.0 Later` or
    `550 5.1.1 Nobody here` is given to the receiver's name, `data: 451 4.3.0 Later` to the message itself;
    the words above hang up or hold. Without a script, or with `TAKEN`, a letter is taken. A hold ends with
    `release`.
    """

    def __init__(self) -> None:
        self.letters: list[Letter] = []
        self.conversations = 0
        self._script: deque[str] = deque()
        self._script_for: dict[str, str] = {}
        self._changed = threading.Condition()
        self._loop = asyncio.new_event_loop()
        self._held = asyncio.Event()
        self._holding = 0
        self._servers: list[Conversation] = []
        self.port = 0

    def start(self) -> "SmtpSink":
        started = threading.Event()
        self._thread = threading.Thread(target=self._serve, args=(started,), daemon=True)
        self._thread.start()
        assert started.wait(PATIENCE_S)
        return self

    def stop(self) -> None:
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(PATIENCE_S)

    @property
    def url(self) -> str:
        return f"smtp://127.0.0.1:{self.port}"

    def answer(self, *answers: str) -> None:
        self._script.extend(answers)

    def answer_for(self, address: str, answer: str) -> None:
        """Answer every conversation about an address so."""
        self._script_for[address] = answer

    def release(self) -> None:
        self._loop.call_soon_threadsafe(self._held.set)

    def wait_for_letters(self, count: int, *, patience_s: float = PATIENCE_S) -> list[Letter]:
        self._wait(lambda: len(self.letters) >= count, patience_s)
        return list(self.letters)

    def wait_for_hold(self, *, patience_s: float = PATIENCE_S) -> None:
        self._wait(lambda: self._holding > 0, patience_s)

    def _wait(self, ready: Any, patience_s: float) -> None:
        with self._changed:
            assert self._changed.wait_for(ready, patience_s), f"the mail server has {self.letters}"

    # What follows runs in the server's thread.

    def _serve(self, started: threading.Event) -> None:
        asyncio.set_event_loop(self._loop)
        server = self._loop.run_until_complete(self._loop.create_server(self._conversation, "127.0.0.1", 0))
        self.port = server.sockets[0].getsockname()[1]
        started.set()
        self._loop.run_forever()
        server.close()
        for conversation in self._servers:
            if conversation.transport is not None:
                conversation.hang_up()
        tasks = asyncio.all_tasks(self._loop)
        for task in tasks:
            task.cancel()
        self._loop.run_until_complete(asyncio.gather(*tasks, return_exceptions=True))
        self._loop.close()

    def _conversation(self) -> Conversation:
        server = Conversation(self, hostname="sink.example", loop=self._loop)
        self._servers.append(server)
        return server

    async def handle_RCPT(
        self, server: Conversation, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        self.conversations += 1
        scripted = self._script.popleft() if self._script else TAKEN
        server.answer = self._script_for.get(address, scripted)
        if server.answer == HANG_UP:
            server.hang_up()
        elif server.answer[:1] in "45":
            return server.answer
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 Fine"

    async def handle_DATA(self, server: Conversation, session: Session, envelope: Envelope) -> str:
        if server.answer.startswith("data: "):
            return server.answer.removeprefix("data: ")
        if server.answer == HOLD_BEFORE_TAKING:
            await self._hold()
            return "451 4.3.0 Held for too long"
        self._take(envelope)
        if server.answer == HANG_UP_AFTER_TAKING:
            server.hang_up()
        if server.answer == HOLD_AFTER_TAKING:
            await self._hold()
        return TAKEN

    def _take(self, envelope: Envelope) -> None:
        assert isinstance(envelope.content, bytes)
        assert envelope.mail_from is not None
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        assert isinstance(message, EmailMessage)
        with self._changed:
            self.letters.append(Letter(envelope.mail_from, envelope.rcpt_tos[0], message))
            self._changed.notify_all()

    async def _hold(self) -> None:
        with self._changed:
            self._holding += 1
            self._changed.notify_all()
        await self._held.wait()
