"""Write down who did what, in the transaction that does it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from coaching.models.audit import ActorKind, AuditEntry
from coaching.policy import Principal

CHANGES_NOTHING: Final = frozenset(
    {
        "prescriptions.analyse",
        "prescriptions.pairings",
        "prescriptions.parse",
        "program_versions.preview",
    }
)
"""Operations that are POSTs only because their question is too long for an address; they store nothing."""

VALUES_KEPT: Final[Mapping[str, frozenset[str]]] = {
    "business.update": frozenset(
        {
            "time_zone",
            "unit",
            "week_start",
            "default_session_min",
            "day_ends_at",
            "grace_h",
            "digest_at",
            "quiet_from",
            "quiet_until",
            "missed_escalation_sessions",
            "client_notes",
            "part_done_below_ratio",
            "allowed_origins",
            "second_factor_required",
        }
    ),
    "coaches.create": frozenset({"role"}),
    "coaches.update": frozenset({"role", "state"}),
    "invitations.create": frozenset({"role", "client"}),
    "retention_policy.update": frozenset(
        {"ended_client_months", "held_item_days", "log_import_days", "log_batch_days", "mail_body_days"}
    ),
    "exports.create": frozenset({"client", "business", "audit"}),
    "api_keys.create": frozenset({"scopes", "source", "client_ids", "expires_at"}),
    "api_keys.rotate": frozenset({"overlap_h", "expires_at"}),
}
"""The fields whose values go into the trail: settings, roles and scopes, nothing that says anything of a client."""

MAX_FIELDS: Final = 60
MAX_FIELD_CHARACTERS: Final = 80


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a request came from: its address, and the id under which the logs have it."""

    address: str | None = None
    request_id: str = ""


def record_operation(
    *,
    actor: Principal,
    operation: str,
    origin: Origin,
    now: datetime,
    object_id: str = "",
    sent: Mapping[str, Any] | None = None,
) -> None:
    """Write down an operation that was done.

    Args:
        actor: who did it.
        operation: its name in `coaching.policy.OPERATIONS`.
        origin: where the request came from.
        now: when.
        object_id: the object of the path, or the one just made; empty for many at once.
        sent: the body: the names of its fields are kept, and the values of those in `VALUES_KEPT`.
    """
    if operation in CHANGES_NOTHING:
        return
    body = sent or {}
    kept = VALUES_KEPT.get(operation, frozenset())
    AuditEntry.objects.create(
        at=now,
        operation=operation,
        actor_kind=ActorKind.KEY if actor.kind == "key" else ActorKind.PERSON,
        actor_id=actor.credential_id if actor.kind == "key" else actor.membership_id,
        credential_id=actor.credential_id,
        address=origin.address,
        request_id=origin.request_id,
        object_id=object_id,
        fields=_names(body),
        values={name: value for name, value in body.items() if name in kept},
    )


def record_sign_in(*, membership_id: UUID, credential_id: UUID, origin: Origin, now: datetime) -> None:
    """Write down that a person was let in, in the business in scope."""
    AuditEntry.objects.create(
        at=now,
        operation="sessions.create",
        actor_kind=ActorKind.PERSON,
        actor_id=membership_id,
        credential_id=credential_id,
        address=origin.address,
        request_id=origin.request_id,
        object_id=str(credential_id),
    )


def record_by_link(
    *,
    operation: str,
    membership_id: UUID,
    object_id: str,
    origin: Origin,
    now: datetime,
    role: str | None = None,
) -> None:
    """Write down what a person did without a credential, by a link sent to their address, in the business in scope."""
    AuditEntry.objects.create(
        at=now,
        operation=operation,
        actor_kind=ActorKind.PERSON,
        actor_id=membership_id,
        address=origin.address,
        request_id=origin.request_id,
        object_id=object_id,
        values={} if role is None else {"role": role},
    )


def record_refused_sign_in(
    *, membership_id: UUID, credential_id: UUID | None, origin: Origin, at: datetime, values: Mapping[str, Any]
) -> None:
    """Write down that somebody was not let in as a person of the business in scope; nobody knows who it was."""
    AuditEntry.objects.create(
        at=at,
        operation="sessions.refused",
        actor_kind=ActorKind.UNKNOWN,
        credential_id=credential_id,
        address=origin.address,
        request_id=origin.request_id,
        object_id=str(membership_id),
        values=dict(values),
    )


def record_command(*, operation: str, now: datetime, object_id: str = "", fields: Iterable[str] = ()) -> None:
    """Write down what an operator did from a shell, in the business in scope."""
    AuditEntry.objects.create(
        at=now, operation=operation, actor_kind=ActorKind.OPERATOR, object_id=object_id, fields=_names(fields)
    )


def record_by_service(*, done: Iterable[tuple[str, UUID, Mapping[str, Any]]], now: datetime) -> None:
    """Write down what the service itself did by its rules, in one statement.

    Args:
        done: of each the operation, the object, and values that say nothing of a client.
        now: when.
    """
    AuditEntry.objects.bulk_create(
        [
            AuditEntry(
                at=now,
                operation=operation,
                actor_kind=ActorKind.SERVICE,
                object_id=str(object_id),
                values=dict(values),
            )
            for operation, object_id, values in done
        ]
    )


def _names(fields: Iterable[str]) -> list[str]:
    return sorted(str(name)[:MAX_FIELD_CHARACTERS] for name in fields)[:MAX_FIELDS]
