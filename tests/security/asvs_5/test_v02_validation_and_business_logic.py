"""V2 Validation and business logic."""

from tests.architecture.calls import BODIES
from tests.scenario import Cast
from tests.security.operations import CALLED, attack


def test_no_step_is_skipped(cast: Cast, world: dict[str, str]) -> None:
    """2.3.1 A draft is published before it is assigned, a table checked before it is written, a plan's past stays."""
    api = cast.api(cast.owner)
    draft = {**BODIES["assignments.create"](world), "version": world["draft_id"]}
    assert attack(api, CALLED["assignments.create"], world, body=draft).status_code in {400, 409}
    changed = {"content": BODIES["program_versions.update"](world)["content"]}
    published = {**world, "draft_id": world["version_id"]}
    assert attack(api, CALLED["program_versions.update"], published, body=changed).status_code == 409
    table = f"/api/v1/log-imports?client={world['client_id']}"
    made = api.post(table, "Date,Exercise,Reps\n2031-03-10,Back squat,6\n", content_type="text/csv").json()
    assert api.post(f"/api/v1/log-imports/{made['id']}/commit", {}, format="json").status_code == 409


def test_related_fields_must_agree(cast: Cast, world: dict[str, str]) -> None:
    """2.2.3 Fields that are each possible are refused together where they contradict one another."""
    api, question = cast.api(cast.owner), BODIES["check_in_forms.create"](world)["questions"][0]
    for operation, fields in (
        ("absences.create", {"starts_on": "2031-03-26", "ends_on": "2031-03-25"}),
        ("reference_loads.create", {"load_kg": 100, "load_lb": 100}),
        ("assignments.create", {"weekdays": [0]}),
        (
            "check_in_forms.create",
            {"questions": [{**question, "minimum": 9}]},
        ),
    ):
        answer = attack(api, CALLED[operation], world, body={**BODIES[operation](world), **fields})
        told = answer.json()
        conflicts = [row for row in told.get("results", ()) if row.get("conflicts") or row.get("outcome") != "assigned"]
        assert answer.status_code == 400 or conflicts, (operation, answer.content[:300])
