"""Who may do what: the one table that enforcement, the schema's documentation and the tests read.

An operation is named `resource.verb`; each view names the operation of each of its methods. An operation
that is missing here can't be called by anyone.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Literal
from uuid import UUID

from django.db.models import Q

from coaching.models.people import Role


class Scope(StrEnum):
    """What an API key may be allowed."""

    LOGS_WRITE = "logs:write"
    LOGS_READ = "logs:read"
    PLANS_READ = "plans:read"
    CLIENTS_READ = "clients:read"
    PROGRESS_READ = "progress:read"


@dataclass(frozen=True, slots=True)
class Operation:
    """Who may call an operation: roles of people, scopes of keys, or anybody at all."""

    roles: frozenset[Role] = frozenset()
    scopes: frozenset[Scope] = frozenset()
    anyone: bool = False


OWN_SOURCE: Final = "counterpoise"
"""What people's logs are filed under when they name no source; a client's own always are."""


@dataclass(frozen=True, slots=True)
class Principal:
    """Who is calling: a person in one business, or a key of one business.

    `client_ids` narrows a key to named clients. `source` is what a key's or a client's logs are filed under, and they
    change no others; it is empty for the team. `credential_id` is what retries and limits count by. Until a person has
    the second factor that the business asks for, they may do nothing but look after their own account.
    """

    kind: Literal["person", "key"]
    business_id: UUID
    credential_id: UUID
    role: Role | None = None
    person_id: UUID | None = None
    membership_id: UUID | None = None
    scopes: frozenset[Scope] = frozenset()
    source: str = ""
    client_ids: frozenset[UUID] | None = None
    needs_second_factor: bool = False

    @property
    def is_authenticated(self) -> bool:
        """Say yes: a caller without a credential has no principal."""
        return True


_OWNER: Final = frozenset({Role.OWNER})
_HEADS: Final = frozenset({Role.OWNER, Role.HEAD_COACH})
_COACHES: Final = _HEADS | {Role.COACH}
_STAFF: Final = _COACHES | {Role.VIEWER}
_ALL: Final = _STAFF | {Role.CLIENT}


def _may(roles: frozenset[Role], *scopes: Scope) -> Operation:
    return Operation(roles=roles, scopes=frozenset(scopes))


OPERATIONS: Final[Mapping[str, Operation]] = {
    "sessions.create": Operation(anyone=True),
    "sessions.list": _may(_ALL),
    "sessions.delete": _may(_ALL),
    "sessions.rotate": _may(_ALL),
    "sessions.delete_others": _may(_ALL),
    "second_factor.read": _may(_ALL),
    "second_factor.start": _may(_ALL),
    "second_factor.confirm": _may(_ALL),
    "second_factor.turn_off": _may(_ALL),
    "second_factor.renew_codes": _may(_ALL),
    "passwords.change": _may(_ALL),
    "password_resets.create": Operation(anyone=True),
    "password_resets.confirm": Operation(anyone=True),
    "invitations.list": _may(_COACHES),
    "invitations.create": _may(_COACHES),
    "invitations.read": _may(_COACHES),
    "invitations.delete": _may(_COACHES),
    "invitations.resend": _may(_COACHES),
    "invitations.accept": Operation(anyone=True),
    "me.read": _may(_ALL, *Scope),
    "business.read": _may(_STAFF),
    "business.update": _may(_OWNER),
    "coaches.list": _may(_STAFF),
    "coaches.create": _may(_OWNER),
    "coaches.read": _may(_STAFF),
    "coaches.update": _may(_OWNER),
    "coaches.delete": _may(_OWNER),
    "clients.list": _may(_ALL, Scope.CLIENTS_READ),
    "clients.create": _may(_COACHES),
    "clients.read": _may(_ALL, Scope.CLIENTS_READ),
    "clients.update": _may(_COACHES),
    "client_accounts.delete": _may(_COACHES),
    "erasures.create": _may(_OWNER),
    "erasures.list": _may(_OWNER),
    "exports.create": _may(_HEADS | {Role.CLIENT}),
    "operations.read": _may(_HEADS | {Role.CLIENT}),
    "operations.cancel": _may(_HEADS | {Role.CLIENT}),
    "operations.result": _may(_HEADS | {Role.CLIENT}),
    "consent_texts.list": _may(_ALL),
    "consent_texts.create": _may(_HEADS),
    "consents.list": _may(_ALL),
    "consents.create": _may(_COACHES | {Role.CLIENT}),
    "consents.withdraw": _may(_COACHES | {Role.CLIENT}),
    "retention_policy.read": _may(_OWNER),
    "retention_policy.update": _may(_OWNER),
    "places.list": _may(_ALL, Scope.CLIENTS_READ),
    "places.create": _may(_COACHES | {Role.CLIENT}),
    "places.read": _may(_ALL, Scope.CLIENTS_READ),
    "places.update": _may(_COACHES | {Role.CLIENT}),
    "places.delete": _may(_COACHES | {Role.CLIENT}),
    "api_keys.list": _may(_OWNER),
    "api_keys.create": _may(_OWNER),
    "api_keys.delete": _may(_OWNER),
    "api_keys.rotate": _may(_OWNER),
    "audit_entries.list": _may(_OWNER),
    "absences.list": _may(_ALL),
    "absences.create": _may(_COACHES),
    "absences.read": _may(_ALL),
    "absences.delete": _may(_COACHES),
    "exercises.list": _may(_ALL, Scope.PLANS_READ, Scope.LOGS_WRITE),
    "exercises.create": _may(_COACHES),
    "exercises.read": _may(_ALL, Scope.PLANS_READ, Scope.LOGS_WRITE),
    "exercises.update": _may(_COACHES),
    "exercises.merge": _may(_COACHES),
    "substitutes.list": _may(_STAFF),
    "substitutions.create": _may(_COACHES),
    "prescriptions.analyse": _may(_STAFF),
    "prescriptions.pairings": _may(_STAFF),
    "prescriptions.parse": _may(_STAFF),
    "programs.list": _may(_STAFF),
    "programs.create": _may(_COACHES),
    "programs.read": _may(_STAFF),
    "programs.update": _may(_COACHES),
    "program_versions.list": _may(_STAFF),
    "program_versions.create": _may(_COACHES),
    "program_versions.read": _may(_STAFF),
    "program_versions.update": _may(_COACHES),
    "program_versions.publish": _may(_COACHES),
    "program_versions.withdraw": _may(_COACHES),
    "program_versions.analysis": _may(_STAFF),
    "program_versions.diff": _may(_STAFF),
    "program_versions.preview": _may(_STAFF),
    "assignments.list": _may(_ALL, Scope.PLANS_READ),
    "assignments.create": _may(_COACHES),
    "assignments.read": _may(_ALL, Scope.PLANS_READ),
    "assignments.update": _may(_COACHES),
    "assignments.pause": _may(_COACHES),
    "assignments.resume": _may(_COACHES),
    "assignments.shift": _may(_COACHES),
    "assignments.move_to_version": _may(_COACHES),
    "assignments.move_all_to_version": _may(_COACHES),
    "planned_sessions.list": _may(_ALL, Scope.PLANS_READ),
    "planned_sessions.read": _may(_ALL, Scope.PLANS_READ),
    "planned_sessions.card": _may(_ALL, Scope.PLANS_READ),
    "planned_sessions.update": _may(_COACHES | {Role.CLIENT}),
    "planned_sessions.bulk_change": _may(_COACHES),
    "reference_loads.list": _may(_ALL, Scope.PLANS_READ),
    "reference_loads.create": _may(_COACHES),
    "reference_loads.read": _may(_ALL, Scope.PLANS_READ),
    "reference_loads.update": _may(_COACHES),
    "session_pace.read": _may(_ALL, Scope.PROGRESS_READ),
    "timeline_policy.read": _may(_STAFF),
    "timeline_policy.update": _may(_HEADS),
    "log_batches.create": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "log_batches.list": _may(_STAFF, Scope.LOGS_WRITE),
    "log_batches.read": _may(_STAFF, Scope.LOGS_WRITE),
    "log_imports.list": _may(_COACHES),
    "log_imports.create": _may(_COACHES),
    "log_imports.read": _may(_COACHES),
    "log_imports.update": _may(_COACHES),
    "log_imports.delete": _may(_COACHES),
    "log_imports.dry_run": _may(_COACHES),
    "log_imports.commit": _may(_COACHES),
    "session_logs.list": _may(_ALL, Scope.LOGS_READ),
    "session_logs.create": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "session_logs.read": _may(_ALL, Scope.LOGS_READ),
    "session_logs.revisions": _may(_ALL, Scope.LOGS_READ),
    "session_logs.update": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "session_logs.delete": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "set_logs.list": _may(_ALL, Scope.LOGS_READ),
    "set_logs.create": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "set_logs.read": _may(_ALL, Scope.LOGS_READ),
    "set_logs.revisions": _may(_ALL, Scope.LOGS_READ),
    "set_logs.update": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "set_logs.delete": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "check_ins.list": _may(_ALL, Scope.LOGS_READ),
    "check_ins.create": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "check_ins.read": _may(_ALL, Scope.LOGS_READ),
    "check_ins.revisions": _may(_ALL, Scope.LOGS_READ),
    "check_ins.update": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "check_ins.delete": _may(_COACHES | {Role.CLIENT}, Scope.LOGS_WRITE),
    "held_items.list": _may(_STAFF, Scope.LOGS_WRITE),
    "held_items.delete": _may(_COACHES, Scope.LOGS_WRITE),
    "progress.read": _may(_ALL, Scope.PROGRESS_READ),
    "lifts.list": _may(_ALL, Scope.PROGRESS_READ),
    "lifts.read": _may(_ALL, Scope.PROGRESS_READ),
    "lift_trends.list": _may(_STAFF, Scope.PROGRESS_READ),
    "performed_tempo.read": _may(_ALL, Scope.PROGRESS_READ),
    "session_logs.performed_tempo": _may(_ALL, Scope.PROGRESS_READ),
    "work_capacity.read": _may(_ALL, Scope.PROGRESS_READ),
    "conditioning.read": _may(_ALL, Scope.PROGRESS_READ),
    "training_blocks.compare": _may(_ALL, Scope.PROGRESS_READ),
    "training_load.read": _may(_ALL, Scope.PROGRESS_READ),
    "check_in_summary.read": _may(_ALL, Scope.PROGRESS_READ),
    "readiness.read": _may(_STAFF, Scope.PROGRESS_READ),
    "check_in_forms.list": _may(_ALL, Scope.LOGS_WRITE, Scope.LOGS_READ),
    "check_in_forms.create": _may(_COACHES),
    "check_in_forms.read": _may(_ALL, Scope.LOGS_WRITE, Scope.LOGS_READ),
    "check_in_forms.update": _may(_COACHES),
    "flags.list": _may(_STAFF),
    "flags.read": _may(_STAFF),
    "flags.acknowledge": _may(_COACHES),
    "flags.resolve": _may(_COACHES),
    "alerts.list": _may(_STAFF),
    "overview.read": _may(_STAFF),
    "next_session.read": _may(_ALL, Scope.PROGRESS_READ),
    "load_advice.list": _may(_STAFF),
    "load_advice.accept": _may(_COACHES),
}


OWN_ACCOUNT: Final = frozenset({"me", "passwords", "second_factor", "sessions"})
"""Resources of the caller's own account: all that a session may use before the second factor that it needs."""


def allows(principal: Principal | None, operation: str) -> bool:
    """Say whether the caller may call an operation at all; which rows they see is `client_rows`."""
    return is_for(principal, operation) and not lacks_second_factor(principal, operation)


def lacks_second_factor(principal: Principal | None, operation: str) -> bool:
    """Say whether only a second factor stands between the caller and an operation of their role."""
    needs = principal is not None and principal.needs_second_factor
    return needs and operation.partition(".")[0] not in OWN_ACCOUNT


def is_for(principal: Principal | None, operation: str) -> bool:
    """Say whether the table gives the caller's role, or the scopes of their key, an operation."""
    entry = OPERATIONS.get(operation)
    if entry is None:
        return False
    if entry.anyone:
        return True
    if principal is None:
        return False
    if principal.kind == "key":
        return bool(principal.scopes & entry.scopes)
    return principal.role in entry.roles


def member_shown(principal: Principal, member: UUID | None) -> UUID | None:
    """Return who did something as far as the caller may know: a client is told of themselves alone."""
    return None if principal.role == Role.CLIENT and member != principal.membership_id else member


def client_rows(principal: Principal, path: str = "client") -> Q:
    """Return the filter that leaves the rows of clients whom the caller may see.

    Args:
        principal: who is calling.
        path: the way from the filtered model to its client, `""` for the client itself.
    """
    prefix = f"{path}__" if path else ""
    if principal.kind == "key":
        if principal.client_ids is None:
            return Q()
        return Q(**{f"{path}_id__in" if path else "id__in": sorted(principal.client_ids)})
    if principal.role in _HEADS:
        return Q()
    if principal.role == Role.CLIENT:
        return Q(**{f"{prefix}membership_id": principal.membership_id})
    if principal.role == Role.VIEWER:
        return Q(**{f"{prefix}viewers__contains": [principal.membership_id]})
    return Q(**{f"{prefix}coach_id": principal.membership_id})
