"""Tables of the kernel: businesses, people, clients, credentials, and work that is due."""

from coaching.models.audit import ActorKind, AuditEntry
from coaching.models.businesses import Business, BusinessState, SecondFactorRule, Unit
from coaching.models.check_in_forms import CheckInForm, CheckInFormVersion, FormCadence
from coaching.models.clients import (
    Absence,
    AbsenceKind,
    AbsenceTreatment,
    Client,
    ClientState,
    ClientZone,
)
from coaching.models.consents import Consent, ConsentGivenHow, ConsentKind, ConsentText
from coaching.models.credentials import ApiKey
from coaching.models.erasures import Erasure
from coaching.models.idempotency import IdempotentAnswer
from coaching.models.invitations import Invitation
from coaching.models.operations import Operation, OperationKind, OperationPart, OperationState
from coaching.models.outbox import OutboxMessage, OutboxState
from coaching.models.password_resets import PasswordReset
from coaching.models.people import Membership, MembershipState, Person, Role, SessionToken
from coaching.models.places import Place, PlaceKind
from coaching.models.retention import RetentionPolicy
from coaching.models.second_factors import RecoveryCode, SecondFactor
from coaching.models.sign_in_attempts import Refused, SignInAttempt
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
    "Consent",
    "ConsentGivenHow",
    "ConsentKind",
    "ConsentText",
    "Erasure",
    "FormCadence",
    "IdempotentAnswer",
    "Invitation",
    "Membership",
    "MembershipState",
    "Operation",
    "OperationKind",
    "OperationPart",
    "OperationState",
    "OutboxMessage",
    "OutboxState",
    "PasswordReset",
    "Person",
    "Place",
    "PlaceKind",
    "RecoveryCode",
    "Refused",
    "RetentionPolicy",
    "Role",
    "SecondFactor",
    "SecondFactorRule",
    "SessionToken",
    "SignInAttempt",
    "StaleWeek",
    "Unit",
]
