"""V15 Secure coding and architecture."""

import re

from coaching.http.rate_policy import RateClass, class_of
from coaching.policy import OPERATIONS
from tests.processes import ROOT
from tests.scenario import Cast


def test_every_library_is_listed_with_its_release_and_hash() -> None:
    """15.1.2 The lock is the inventory: each library, transitive ones too, at one release, with its hashes."""
    text = (ROOT / "requirements.lock").read_text()
    named = re.findall(r"^([a-z0-9._-]+)(?:\[[^\]]*\])?==([^\s;\\]+)", text, re.MULTILINE | re.IGNORECASE)
    assert len(named) > 40
    assert len({name for name, _release in named}) == len(named)
    assert text.count("--hash=sha256:") >= len(named)


def test_each_dear_operation_is_told_with_its_bound() -> None:
    """15.1.3 The contributors' guide names what takes time or memory; what counts apart stands there, and no other."""
    told = (ROOT / "DEVELOPERS.md").read_text().split("## What is dear")[1].split("\n## ")[0]
    named = set(re.findall(r"`(\w+\.\w+)`", told))
    dear = {name for name in OPERATIONS if class_of(name, "POST", "application/pdf") is RateClass.EXPENSIVE}
    assert named == dear


def test_a_parameter_or_key_that_stands_twice_is_refused(cast: Cast) -> None:
    """15.3.7 Two readers could take different ones, so neither is taken: in the query and in the body."""
    api = cast.api(cast.owner)
    assert api.get("/api/v1/clients?limit=1&limit=2").status_code == 400
    assert api.get("/api/v1/clients?state=active&state=ended").status_code == 400
    twice = api.post("/api/v1/clients", b'{"name": "A", "name": "B"}', content_type="application/json")
    assert (twice.status_code, twice.json()["code"]) == (400, "duplicate_key")
    elsewhere = api.post("/api/v1/clients?name=A", {"name": "B"}, format="json")
    assert elsewhere.status_code == 400


def test_a_value_of_another_type_is_not_turned_into_the_right_one(cast: Cast) -> None:
    """15.3.5 5 is no text, "5" no whole number, and neither 1 nor "yes" is true."""
    api = cast.api(cast.owner)
    for fields, pointer in (
        ({"name": 5}, "#/name"),
        ({"name": "A", "max_hr_bpm": "180"}, "#/max_hr_bpm"),
        ({"name": "A", "weekdays": ["1"]}, "#/weekdays/0"),
        ({"name": "A", "equipment": [5]}, "#/equipment/0"),
        ({"name": "A", "max_hr_bpm": True}, "#/max_hr_bpm"),
    ):
        answer = api.post("/api/v1/clients", fields, format="json")
        assert answer.status_code == 400, fields
        assert pointer in [fault["pointer"] for fault in answer.json()["errors"]], answer.content
    changed = api.patch("/api/v1/business", {"client_notes": "yes"}, format="json", HTTP_IF_MATCH="*")
    assert [fault["pointer"] for fault in changed.json()["errors"]] == ["#/client_notes"]
