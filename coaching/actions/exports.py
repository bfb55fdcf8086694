"""Ask for a file of what the business holds: of one client, of all, or of the trail."""

from datetime import datetime, timedelta
from math import ceil
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.models import Client, Operation, OperationKind, OperationState, Role
from coaching.policy import Principal, client_rows
from coaching.refusals import Forbidden, TooMany, UnknownObject
from coaching.tenancy.scope import current_business_id

A_DAY: Final = timedelta(days=1)
A_DAY_AT_MOST: Final = {
    OperationKind.CLIENT_EXPORT: 20,
    OperationKind.BUSINESS_EXPORT: 3,
    OperationKind.AUDIT_EXPORT: 10,
}
"""How many exports a day: of clients for each caller, of the others for the business. Practice."""


def ask_for_client_export(*, actor: Principal, client_id: UUID, now: datetime) -> Operation:
    """Ask for a client's whole record; a client asks for their own.

    Raises:
        UnknownObject: there is no such client whom the caller may see.
        TooMany: the caller asked for their fill today.
    """
    if not Client.objects.filter(client_rows(actor, ""), id=client_id).exists():
        raise UnknownObject.at("#/client", "There is no such client that you may see.")
    return _ask(actor, OperationKind.CLIENT_EXPORT, now, client_id=client_id)


def ask_for_business_export(*, actor: Principal, now: datetime) -> Operation:
    """Ask for everything that the business holds.

    Raises:
        Forbidden: the caller is not an owner.
        TooMany: the business had its fill today.
    """
    _check_owner(actor)
    return _ask(actor, OperationKind.BUSINESS_EXPORT, now)


def ask_for_audit_export(*, actor: Principal, wanted: dict[str, str], now: datetime) -> Operation:
    """Ask for the trail.

    Args:
        actor: who asks.
        wanted: the filters: `from` and `to` (dates), `actor`, `operation`, `object`, `address`, each as text.
        now: the present instant.

    Raises:
        Forbidden: the caller is not an owner.
        TooMany: the business had its fill today.
    """
    _check_owner(actor)
    return _ask(actor, OperationKind.AUDIT_EXPORT, now, wanted=wanted)


def _check_owner(actor: Principal) -> None:
    if actor.role != Role.OWNER:
        raise Forbidden("Only an owner may export the whole business, or its trail.")


def _ask(actor: Principal, kind: OperationKind, now: datetime, **what: Any) -> Operation:
    if actor.membership_id is None or actor.role is None:
        raise Forbidden("Exports are for people; a key reads what its scopes say.")
    with connection.cursor() as cursor:
        # Two at once must not both be the last one that is allowed.
        cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [f"exports:{current_business_id()}"])
    asked = Operation.objects.filter(kind=kind, created_at__gt=now - A_DAY)
    if kind == OperationKind.CLIENT_EXPORT:
        asked = asked.filter(requested_by=actor.membership_id)
    recent = list(asked.order_by("created_at").values_list("created_at", flat=True))
    if len(recent) >= A_DAY_AT_MOST[kind]:
        wait_s = max(1, ceil((recent[0] + A_DAY - now).total_seconds()))
        raise TooMany(
            f"{A_DAY_AT_MOST[kind]} such exports a day are the most; try again in {ceil(wait_s / 3600)} hours.",
            retry_after_s=wait_s,
        )
    return Operation.objects.create(
        kind=kind,
        state=OperationState.QUEUED,
        requested_by=actor.membership_id,
        requested_as=actor.role,
        created_at=now,
        **what,
    )
