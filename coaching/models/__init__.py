"""Tables of the kernel: businesses, people, clients, credentials, and work that is due."""

from coaching.models.businesses import Business, BusinessState, Unit
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
from coaching.models.stale_weeks import StaleWeek

__all__ = [
    "Absence",
    "AbsenceKind",
    "AbsenceTreatment",
    "ApiKey",
    "Business",
    "BusinessState",
    "Client",
    "ClientState",
    "ClientZone",
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
    "StaleWeek",
    "Unit",
]
