"""Every kind of credential that may knock, each as a fact: what the table of roles and scopes reads, and whose rows."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from django.utils import timezone
from rest_framework.test import APIClient

from coaching.actions.api_keys import revoke_api_key
from coaching.models import ApiKey, Business, Client, Membership, Person, Role, SecondFactorRule, SessionToken
from coaching.policy import Scope
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast, signed_in

EVERYBODY: Final = frozenset({"anna", "ben", "carl"})
OWN: Final = frozenset({"anna", "ben"})
OTHER: Final = frozenset({"carl"})
NOBODY: Final[frozenset[str]] = frozenset()


def _nothing() -> None:
    return


@dataclass(frozen=True)
class Credential:
    """One column of the matrix.

    Attributes:
        name: what it is, in words.
        column: the head of its column.
        api: an HTTP client that sends it.
        role: of a person.
        scopes: of a key.
        clients: whose rows it may see, of the clients of the world's business.
        in_business: whether it is of the world's business at all.
        good: whether it is a credential that works.
        has_factor: whether the second factor that the business asks for stands.
        before: what is done first, within what is rolled back after its calls.
    """

    name: str
    column: str
    api: APIClient
    role: Role | None = None
    scopes: frozenset[Scope] = frozenset()
    clients: frozenset[str] = NOBODY
    in_business: bool = True
    good: bool = True
    has_factor: bool = True
    before: Callable[[], None] = _nothing


def build_credentials(cast: Cast, neighbour: Cast) -> tuple[Credential, ...]:
    """Make one of each kind; the world stands already."""
    with business_scope(cast.business_id):
        Client.objects.filter(id__in=[cast.anna.id, cast.ben.id]).update(viewers=[cast.viewer.id])
        other_viewer = _member(Role.VIEWER, "vito")
        other_client = _member(Role.CLIENT, "carl")
        Client.objects.filter(id=cast.carl.id).update(viewers=[other_viewer.id], membership=other_client)
    return (
        *_people(cast, other_viewer, other_client),
        *_keys(cast),
        _person(neighbour, neighbour.owner, "a neighbour's owner", "nb-owner", NOBODY, in_business=False),
        _key(
            neighbour.key(*Scope),
            "a neighbour's key of every scope",
            "nb-key",
            *Scope,
            in_business=False,
        ),
        *_worthless(cast),
    )


def _member(role: Role, word: str) -> Membership:
    person = Person.objects.create_person(
        email=f"{word}.member@northern-iron.example", name=word.title(), password=None
    )
    return Membership.objects.create(person=person, role=role, time_zone="Europe/Paris")


def _people(cast: Cast, other_viewer: Membership, other_client: Membership) -> list[Credential]:
    def ask_for_a_second_factor() -> None:
        with business_scope(cast.business_id):
            Business.objects.filter(id=cast.business_id).update(second_factor_required=SecondFactorRule.EVERYONE)

    return [
        _person(cast, cast.owner, "owner", "owner", EVERYBODY),
        _person(cast, cast.head, "head coach", "head", EVERYBODY),
        _person(cast, cast.coach, "coach of the client", "coach", OWN),
        _person(cast, cast.other_coach, "coach of another client", "coach2", OTHER),
        _person(cast, cast.viewer, "viewer of the client", "viewer", OWN),
        _person(cast, other_viewer, "viewer of another client", "viewer2", OTHER),
        _person(cast, cast.client_member, "the client", "client", frozenset({"anna"})),
        _person(cast, other_client, "another client", "client2", OTHER),
        _person(
            cast,
            cast.owner,
            "owner without the second factor that the business asks for",
            "no-2fa",
            EVERYBODY,
            has_factor=False,
            before=ask_for_a_second_factor,
        ),
    ]


def _keys(cast: Cast) -> list[Credential]:
    single = [
        _key(
            cast.key(scope),
            f"key of the scope {scope}",
            scope.replace(":write", ":w").replace(":read", ":r"),
            scope,
        )
        for scope in Scope
    ]
    narrowed = cast.key(*Scope, clients=[cast.carl.id])
    return [
        *single,
        _key(cast.key(*Scope), "key of every scope", "key", *Scope),
        _key(narrowed, "key of every scope, narrowed to another client", "key2", *Scope, clients=OTHER),
    ]


def _worthless(cast: Cast) -> list[Credential]:
    row, token = SessionToken.objects.create(
        user=cast.owner.person, business_id=cast.business_id, membership_id=cast.owner.id
    )
    SessionToken.objects.filter(digest=row.digest).update(expiry=timezone.now() - timedelta(seconds=1))
    revoked, expired = cast.key(*Scope, source="revoked"), cast.key(*Scope, source="expired")
    with business_scope(cast.business_id):
        revoke_api_key(key_id=ApiKey.objects.get(source="revoked").id, now=timezone.now())
        ApiKey.objects.filter(source="expired").update(expires_at=timezone.now() - timedelta(seconds=1))
    return [
        Credential("owner's session that has expired", "old-sess", signed_in(token), good=False),
        Credential("key that was revoked", "rev-key", revoked, good=False),
        Credential("key that has expired", "old-key", expired, good=False),
        Credential("nobody: no credential", "nobody", APIClient(), good=False),
    ]


def _person(
    cast: Cast, member: Membership, name: str, column: str, clients: frozenset[str], **more: object
) -> Credential:
    return Credential(name, column, cast.api(member), role=Role(member.role), clients=clients, **more)


def _key(
    api: APIClient,
    name: str,
    column: str,
    *scopes: Scope,
    clients: frozenset[str] = EVERYBODY,
    in_business: bool = True,
) -> Credential:
    seen = clients if in_business else NOBODY
    return Credential(name, column, api, scopes=frozenset(scopes), clients=seen, in_business=in_business)
