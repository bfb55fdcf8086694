"""V8 Authorization."""

from drf_spectacular.generators import SchemaGenerator

from coaching.models import Membership, Role
from coaching.policy import OPERATIONS
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast


def test_the_published_contract_says_who_may_call_what_and_set_what() -> None:
    """8.1.1, 8.1.2 Each operation names its roles and scopes, and its fields; both come from what enforces them."""
    document = SchemaGenerator().get_schema(request=None, public=True)
    described = {
        operation["operationId"]: operation["description"]
        for methods in document["paths"].values()
        for operation in methods.values()
    }
    for name, entry in OPERATIONS.items():
        told = described[name.replace(".", "_")]
        assert "Anyone" in told if entry.anyone else all(role.value in told for role in entry.roles), name


def test_a_role_taken_away_is_gone_at_the_next_request(cast: Cast) -> None:
    """8.3.1, 8.3.2 What a caller may do is read from the database at each request, and trusted from nowhere else."""
    api = cast.api(cast.head)
    assert api.get("/api/v1/me").json()["role"] == "head_coach"
    assert len(api.get("/api/v1/clients").json()["items"]) == 3
    with business_scope(cast.business_id):
        Membership.objects.filter(id=cast.head.id).update(role=Role.VIEWER)
    assert api.get("/api/v1/clients").json()["items"] == []
    assert api.post("/api/v1/clients", {"name": "New"}, format="json").status_code == 403
