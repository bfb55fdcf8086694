"""One object of every kind in a business, and the addresses that name them."""

import re
from collections.abc import Mapping
from datetime import timedelta
from typing import Any, Final

from coaching.actions.operations import run_operations
from coaching.actions.sessions import session_id_of
from coaching.models import Absence, ApiKey, SessionToken
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.weekly_progress import refresh_weeks
from logs.models import CheckIn, Flag, HeldItem, LogBatch, SessionLog, SetLog
from programs.actions.session_paces import store_session_paces
from programs.actions.versions import write_draft
from programs.models import Assignment, Exercise, PlannedSession, ReferenceLoad
from programs.prescription.session_pace import ClientPace
from tests.programs.documents import MONDAY, assign, content, published
from tests.scenario import NOON, Cast

AFTER: Final = NOON + timedelta(days=9)

CLIENTS_OWN: Final = frozenset(
    {
        "client_id",
        "place_id",
        "consent_id",
        "assignment_id",
        "planned_session_id",
        "absence_id",
        "reference_load_id",
        "flag_id",
        "held_item_id",
        "invitation_id",
        "operation_id",
        "session-logs",
        "set-logs",
        "check-ins",
    }
)
"""The ids of what belongs to one client, which only those see who may see the client."""


def build_world(cast: Cast) -> dict[str, str]:
    """Make one object of every kind, most of them Anna's, and return their ids; call it at `AFTER`."""
    with business_scope(cast.business_id):
        version = published(content(weeks=3))
        assign(cast.coach, version, cast.anna.id, cast.ben.id)
        draft = write_draft(
            program_id=version.variant.program_id, variant_id=version.variant_id, content=content(weeks=2)
        )
    owner = cast.api(cast.owner)
    client = str(cast.anna.id)

    def post(path: str, **body: Any) -> dict[str, Any]:
        answer = owner.post(f"/api/v1{path}", body, format="json")
        assert answer.status_code in {200, 201}, answer.content
        made: dict[str, Any] = answer.json()
        return made

    post("/absences", client=str(cast.ben.id), starts_on="2031-03-24", ends_on="2031-03-26", kind="holiday")
    post(
        f"/clients/{client}/reference-loads",
        exercise="back-squat",
        kind="tested",
        load_kg=140,
        on_date="2031-03-01",
    )
    timed = owner.patch("/api/v1/timeline-policy", {"ramp_sets": 2}, format="json", HTTP_IF_MATCH="*")
    assert timed.status_code == 200, timed.content
    place = post(f"/clients/{client}/places", name="Garage", kind="home", equipment=["barbell"])
    text = post("/consent-texts", kind="health_data", text="We keep what you log.")
    consent = post(f"/clients/{client}/consents", text=text["id"], given_how="spoken")
    kept = owner.patch("/api/v1/retention-policy", {"mail_body_days": 60}, format="json", HTTP_IF_MATCH="*")
    assert kept.status_code == 200, kept.content
    form = post(
        "/check-in-forms",
        name="Morning",
        cadence="daily",
        questions=[{"key": "mood", "text": "Mood?", "kind": "scale", "minimum": 1, "maximum": 5}],
    )
    invitation = post("/invitations", client=str(cast.ben.id))
    post("/api-keys", name="App", scopes=["logs:write"], source="app")
    post(
        "/log-batches",
        session_logs=[{"external_id": "s1", "client": client, "local_date": str(MONDAY), "duration_min": 40}],
        set_logs=[
            {"external_id": "s1-1", "client": client, "session_external_id": "s1", "exercise": "back-squat",
             "set_number": 1, "reps": 5, "load_kg": 80},
            {"external_id": "s2-1", "client": client, "session_external_id": "s2", "exercise": "back-squat",
             "set_number": 1, "reps": 5, "load_kg": 80},
        ],
        check_ins=[
            {"external_id": "c1", "client": client, "local_date": str(MONDAY),
             "form": form["id"], "answers": {"mood": 3},
             "pains": [{"site": "knee", "side": "left", "score": 7, "when": "during", "onset": "new"}]}
        ],
    )  # fmt: skip
    table = "Date,Exercise,Reps\n2031-03-10,Back squat,5\n"
    made = owner.post(f"/api/v1/log-imports?client={client}", table, content_type="text/csv").json()
    owner.post(f"/api/v1/log-imports/{made['id']}/dry-run", {}, format="json")
    detect_missed(cast.business_id, AFTER)
    refresh_weeks(cast.business_id, AFTER)
    asked = cast.api(cast.client_member).post("/api/v1/exports", {"client": client}, format="json")
    assert asked.status_code == 202, asked.content
    run_operations(cast.business_id, AFTER)
    with business_scope(cast.business_id):
        store_session_paces({cast.anna.id: ClientPace(sessions=1, last_on=MONDAY)})
        return {
            "business_id": str(cast.business_id),
            "client_id": client,
            "coach_id": str(cast.coach.id),
            "viewer_id": str(cast.viewer.id),
            "actor_id": str(cast.owner.id),
            "place_id": place["id"],
            "consent_text_id": text["id"],
            "consent_id": consent["id"],
            "form_id": form["id"],
            "exercise": "back-squat",
            "exercise_id": str(Exercise.objects.get(key="back-squat").id),
            "other_exercise_id": str(Exercise.objects.get(key="front-squat").id),
            "program_id": str(version.variant.program_id),
            "variant_id": str(version.variant_id),
            "version_id": str(version.id),
            "draft_id": str(draft.id),
            "assignment_id": str(Assignment.objects.get(client=cast.anna).id),
            "planned_session_id": str(PlannedSession.objects.filter(client=cast.anna).order_by("-local_date")[0].id),
            "absence_id": str(Absence.objects.get().id),
            "reference_load_id": str(ReferenceLoad.objects.get().id),
            "flag_id": str(Flag.objects.order_by("id")[0].id),
            "log_batch_id": str(LogBatch.objects.get().id),
            "log_import_id": made["id"],
            "invitation_id": invitation["id"],
            "operation_id": asked.json()["id"],
            "held_item_id": str(HeldItem.objects.get().id),
            "session-logs": str(SessionLog.objects.get().id),
            "set-logs": str(SetLog.objects.get().id),
            "check-ins": str(CheckIn.objects.get().id),
            "key_id": str(ApiKey.objects.get().id),
            "session_id": str(session_id_of(SessionToken.objects.get(membership_id=cast.owner.id))),
        }


def address(path: str, ids: Mapping[str, str]) -> str:
    """Return the address of a URL pattern with each of its parameters filled from the ids."""
    path = path.removesuffix("/?$").removesuffix("/?\\Z")

    def fill(match: re.Match[str]) -> str:
        name = match[1]
        return ids[path.split("/")[2] if name == "log_id" else name]

    return "/" + re.sub(r"<\w+:(\w+)>", fill, path)
