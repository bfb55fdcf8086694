"""Send one email over SMTP, and say whether a refusal is final."""

import smtplib
from email.utils import formataddr, parseaddr

from django.core.mail import EmailMultiAlternatives, get_connection

from coaching.registry import Rendered

PERMANENT = range(500, 600)


class DeliveryRefused(Exception):
    """The receiver refused, or did not answer.

    Attributes:
        final: whether trying again is pointless.
    """

    def __init__(self, sentence: str, *, final: bool) -> None:
        super().__init__(sentence)
        self.final = final


def send_email(*, message: Rendered, sender: str, message_id: str) -> None:
    """Send a message as text and HTML under a given Message-ID.

    Raises:
        DeliveryRefused: when the server refused (5xx: final), asked to come back (4xx), or went away.
    """
    # The name part of an address may hold a comma: only formataddr keeps it one address.
    email = EmailMultiAlternatives(
        subject=" ".join(message.subject.split()),
        body=message.text,
        from_email=sender,
        to=[formataddr(parseaddr(message.to))],
        headers={"Message-ID": message_id, "Auto-Submitted": "auto-generated", **message.headers},
        connection=get_connection(fail_silently=False),
    )
    email.attach_alternative(message.html, "text/html")
    try:
        email.send()
    except smtplib.SMTPRecipientsRefused as error:
        code, answer = next(iter(error.recipients.values()))
        raise DeliveryRefused(_sentence(code, answer), final=code in PERMANENT) from error
    except smtplib.SMTPResponseException as error:
        raise DeliveryRefused(
            _sentence(error.smtp_code, error.smtp_error), final=error.smtp_code in PERMANENT
        ) from error
    except (OSError, smtplib.SMTPException) as error:
        raise DeliveryRefused(f"The mail server went away: {type(error).__name__}.", final=False) from error


def _sentence(code: int, answer: bytes | str) -> str:
    text = answer.decode("utf-8", "replace") if isinstance(answer, bytes) else answer
    return f"The mail server answered {code}: {' '.join(text.split())[:300]}"
