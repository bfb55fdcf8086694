"""One fixed cast for the tests: two businesses of the same shape; the neighbour must see nothing."""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from uuid import UUID

from rest_framework.test import APIClient

from coaching import registry
from coaching.models import Business, Client, ClientZone, Membership, Person, Role, SessionToken
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope

# Wednesday noon UTC of an ordinary week: no change of clocks near it in Paris or Chicago.
NOON = datetime(2031, 3, 5, 12, tzinfo=UTC)


@dataclass
class Cast:
    """A business with its people; `anna` and `ben` are the coach's clients, `carl` is another coach's."""

    business_id: UUID
    owner: Membership
    head: Membership
    coach: Membership
    other_coach: Membership
    viewer: Membership
    client_member: Membership
    anna: Client
    ben: Client
    carl: Client
    tokens: dict[UUID, str] = field(default_factory=dict)

    def api(self, member: Membership) -> APIClient:
        """An HTTP client signed in as a member."""
        if member.id not in self.tokens:
            _row, token = SessionToken.objects.create(
                user=member.person, business_id=self.business_id, membership_id=member.id
            )
            self.tokens[member.id] = token
        return signed_in(self.tokens[member.id])

    def key(self, *scopes: str, source: str = "gym-floor-app", clients: list[UUID] | None = None) -> APIClient:
        """An HTTP client with an API key of the business."""
        from coaching.actions.api_keys import create_api_key

        with business_scope(self.business_id):
            _key, secret = create_api_key(
                created_by=self.owner.id, name="Test app", scopes=scopes, source=source, client_ids=clients
            )
        return signed_in(secret)


def signed_in(credential: str) -> APIClient:
    """An HTTP client that sends a bearer credential."""
    api = APIClient()
    api.credentials(HTTP_AUTHORIZATION=f"Bearer {credential}")
    return api


def build_business(name: str, *, time_zone: str = "Europe/Paris", unit: str = "kg") -> Cast:
    """Make a business with its cast, in its own scope."""
    business_id = new_id()
    slug = name.lower().replace(" ", "-")
    with business_scope(business_id):
        Business.objects.create(id=business_id, name=name, time_zone=time_zone, unit=unit)
        for created in registry.on_business_created:
            created(business_id)

        def member(role: Role, word: str) -> Membership:
            person = Person.objects.create_person(email=f"{word}@{slug}.example", name=word.title(), password=None)
            return Membership.objects.create(person=person, role=role, time_zone=time_zone)

        owner, head = member(Role.OWNER, "olga"), member(Role.HEAD_COACH, "hugo")
        coach, other = member(Role.COACH, "cora"), member(Role.COACH, "cato")
        viewer, client_member = member(Role.VIEWER, "vera"), member(Role.CLIENT, "anna")

        def client(word: str, of: Membership, zone: str = time_zone, **more: object) -> Client:
            made = Client.objects.create(
                name=word.title(), email=f"{word}@{slug}.example", coach=of, time_zone=zone, unit=unit, **more
            )
            ClientZone.objects.create(client=made, from_instant=datetime(2000, 1, 1, tzinfo=UTC), zone=zone)
            return made

        return Cast(
            business_id=business_id,
            owner=owner,
            head=head,
            coach=coach,
            other_coach=other,
            viewer=viewer,
            client_member=client_member,
            anna=client("anna", coach, membership=client_member),
            ben=client("ben", coach, zone="America/Chicago"),
            carl=client("carl", other),
        )
