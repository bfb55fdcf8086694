"""`/program-versions/{id}/analysis`: weeks against published ranges and against each other."""

from typing import Any

from coaching.tenancy.scope import business_scope
from programs.actions.programs import create_program
from programs.actions.versions import write_draft
from programs.models import Variant, VersionState
from tests.programs.documents import day, published
from tests.scenario import Cast


def weeks(*counts: int, days: int = 1, deload: tuple[int, ...] = ()) -> dict[str, Any]:
    def slot(count: int) -> dict[str, Any]:
        sets = [{"count": count, "reps_low": 8, "rpe": 8, "tempo": "3010"}]
        return {"slot_key": "A1", "exercise": "barbell-curl", "rest_s": 120, "sets": sets}

    return {
        "weeks": [
            {
                "week_number": week,
                "deload": week in deload,
                "days": [day(number, slot(count)) for number in range(1, days + 1)],
            }
            for week, count in enumerate(counts, start=1)
        ]
    }


def analysis(cast: Cast, document: dict[str, Any]) -> dict[str, Any]:
    with business_scope(cast.business_id):
        version = published(document)
    answer = cast.api(cast.viewer).get(f"/api/v1/program-versions/{version.id}/analysis")
    assert answer.status_code == 200, answer.content
    body: dict[str, Any] = answer.json()
    return body


def test_a_week_holds_its_sets_against_the_published_range_and_names_the_source(cast: Cast) -> None:
    body = analysis(cast, weeks(4))
    (reading,) = [found for found in body["weeks"][0]["readings"] if found["muscle"] == "biceps"]
    assert (reading["figure"], reading["low"], reading["high"], reading["verdict"]) == (4, 5, 20, "under")
    (finding,) = [found for found in body["findings"] if found["code"] == "weekly_sets_low"]
    assert (finding["severity"], finding["pointer"], finding["figure"], finding["bound"]) == ("note", "#/weeks/0", 4, 5)
    assert finding["source"].startswith("Schoenfeld")
    assert finding["suggestion"]


def test_each_week_says_how_it_differs_from_the_working_week_before(cast: Cast) -> None:
    first, deload, third = analysis(cast, weeks(6, 3, 7, deload=(2,)))["weeks"]
    assert (first["compared_with"], first["changes"]) == (None, [])
    assert (deload["compared_with"], third["compared_with"]) == (1, 1)
    assert [change["words"] for change in third["changes"]] == ["Barbell curl: 6x8 at 3010, RPE 8 → 7x8 at 3010, RPE 8"]


def test_a_coachs_judgement_never_keeps_a_draft_from_being_published(cast: Cast) -> None:
    with business_scope(cast.business_id):
        program = create_program(name="One muscle", variants=["Only"])
        variant_id = Variant.objects.get(program=program).id
        draft = write_draft(program_id=program.id, variant_id=variant_id, content=weeks(11, days=2))
    api = cast.api(cast.head)
    found = api.get(f"/api/v1/program-versions/{draft.id}/analysis").json()
    assert {"weekly_sets_high"} <= {finding["code"] for finding in found["findings"]}
    assert not found["has_errors"]
    answer = api.post(f"/api/v1/program-versions/{draft.id}/publish", {}, format="json")
    assert (answer.status_code, answer.json()["state"]) == (200, VersionState.PUBLISHED)
