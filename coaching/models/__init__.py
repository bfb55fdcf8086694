"""Tables of the kernel: businesses, people, clients, credentials, and work that is due."""

from coaching.models.audit import ActorKind, AuditEntry
from coaching.models.businesses import Business, BusinessState, Unit
from coaching.models.check_in_forms import CheckInForm, CheckInFormVersion, FormCadence
from coaching.models.clients import (
    Absence,
    AbsenceKind,
    AbsenceTreatment,
    Client,
    ClientState,
    ClientZone,
)
from coaching.models.credentials import ApiKey
from coaching.models.idempotency import IdempotentAnswer
from coaching.models.outbox import OutboxMessage, OutboxState
from coaching.models.people import Membership, MembershipState, Person, Role, SessionToken
from coaching.models.places import Place, PlaceKind
from coaching.models.sign_in_attempts import SignInAttempt
from coaching.models.stale_weeks import StaleWeek

__all__ = [
    "Absence",
    "AbsenceKind",
    "AbsenceTreatment",
    "ActorKind",
    "ApiKey",
    "AuditEntry",
    "Business",
    "BusinessState",
    "CheckInForm",
    "CheckInFormVersion",
    "Client",
    "ClientState",
    "ClientZone",
    "FormCadence",
    "IdempotentAnswer",
    "Membership",
    "MembershipState",
    "OutboxMessage",
    "OutboxState",
    "Person",
    "Place",
    "PlaceKind",
    "Role",
    "SessionToken",
    "SignInAttempt",
    "StaleWeek",
    "Unit",
]
