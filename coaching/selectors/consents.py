"""The words of consents, and what clients have agreed to."""

from typing import Any, Final
from uuid import UUID

from django.db.models import F, Max, OuterRef, Q, QuerySet

from coaching.models.consents import Consent, ConsentText
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound
from coaching.selectors.clients import get_client

_TEXT_COLUMNS: Final = ("id", "kind", "version", "text", "text_sha256", "created_by", "created_at")
_COLUMNS: Final = (
    "id",
    "client",
    "text",
    "given_on",
    "given_how",
    "recorded_by",
    "recorded_at",
    "withdrawn_on",
    "withdrawn_how",
    "withdrawn_by",
    "withdrawn_at",
)


def list_consent_texts(*, kind: str | None = None) -> QuerySet[ConsentText, dict[str, Any]]:
    """Return the words of the business, every version, of one kind or of all."""
    rows = ConsentText.objects.all()
    if kind is not None:
        rows = rows.filter(kind=kind)
    shown: QuerySet[ConsentText, dict[str, Any]] = rows.values(*_TEXT_COLUMNS)
    return shown


def list_consents(*, actor: Principal, client_id: UUID) -> QuerySet[Consent, dict[str, Any]]:
    """Return a client's consents, those withdrawn among them.

    Raises:
        NotFound: there is no such client whom the caller may see.
    """
    get_client(actor=actor, client_id=client_id)
    return _shown(Consent.objects.filter(client_rows(actor), client_id=client_id))


def get_consent(*, actor: Principal, client_id: UUID, consent_id: UUID) -> dict[str, Any]:
    """Return a client's consent.

    Raises:
        NotFound: the client has none of this id, or is not the caller's to see.
    """
    found = _shown(Consent.objects.filter(client_rows(actor), client_id=client_id, id=consent_id)).first()
    if found is None:
        raise NotFound("The client has no consent with this id.")
    return found


def _shown(rows: QuerySet[Consent]) -> QuerySet[Consent, dict[str, Any]]:
    newest = (
        ConsentText.objects.filter(kind=OuterRef("text__kind"))
        .order_by()
        .values("kind")
        .annotate(newest=Max("version"))
        .values("newest")
    )
    return rows.annotate(
        kind=F("text__kind"),
        version=F("text__version"),
        text_sha256=F("text__text_sha256"),
        standing=Q(withdrawn_at=None),
        newest_version=newest,
    ).values(*_COLUMNS, "kind", "version", "text_sha256", "standing", "newest_version")
