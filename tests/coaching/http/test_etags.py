"""A change names the version that it starts from."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import RequestFactory

from coaching.actions.row_versions import bump
from coaching.http.etags import etag_of, required_versions
from coaching.models import Client
from coaching.refusals import NotFound, PreconditionFailed, PreconditionRequired
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast


@pytest.mark.parametrize(
    ("header", "versions"),
    [
        ('"v3"', {3}),
        ('W/"v3"', {3}),
        ('"v3", W/"v4"', {3, 4}),
        ("*", None),
        ('"abc"', set()),
        ("v3", set()),
        ('"v0"', set()),
    ],
)
def test_if_match_admits_the_versions_it_names(header: str, versions: set[int] | None) -> None:
    request = RequestFactory().patch("/x", headers={"If-Match": header})
    assert required_versions(request) == versions


def test_without_if_match_the_caller_is_asked_for_it() -> None:
    with pytest.raises(PreconditionRequired):
        required_versions(RequestFactory().patch("/x"))


def test_a_row_is_changed_only_at_the_version_seen(cast: Cast) -> None:
    with business_scope(cast.business_id):
        rows = Client.objects.all()
        bump(rows, cast.anna.id, frozenset({1}), name="Ann")
        with pytest.raises(PreconditionFailed, match='"v2"'):
            bump(rows, cast.anna.id, frozenset({1}), name="Anne")
        bump(rows, cast.anna.id, None, name="Anna B")
        with pytest.raises(NotFound):
            bump(rows, uuid4(), None)
        found = Client.objects.get(id=cast.anna.id)
    assert (found.name, found.row_version) == ("Anna B", 3)


def test_of_two_changes_from_one_version_the_second_is_refused(cast: Cast) -> None:
    api, path = cast.api(cast.owner), f"/api/v1/clients/{cast.anna.id}"
    tag = api.get(path).headers["ETag"]

    def change(name: str, if_match: str) -> Any:
        return api.patch(path, {"name": name}, format="json", HTTP_IF_MATCH=if_match)

    first = change("Ann", tag)
    assert (first.status_code, first.headers["ETag"]) == (200, etag_of(2))
    assert change("Anne", tag).status_code == 412
    assert api.get(path).json()["name"] == "Ann"
    assert change("Anne", f"W/{first.headers['ETag']}").status_code == 200
