"""What the card of a planned session is made of, in a constant number of queries."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, cast
from uuid import UUID

from coaching.policy import Principal
from coaching.refusals import Conflict, NotFound
from programs.prescription.document import DocumentError
from programs.prescription.movement_holds import Hold
from programs.prescription.session_pace import ClientPace
from programs.prescription.snapshot_reading import snapshot_session
from programs.prescription.structure import ExerciseFacts, Session, session_exercises
from programs.prescription.timeline_policy import TimelinePolicy
from programs.prescription.vocabulary import LoadUnit
from programs.selectors.exercises import exercise_facts
from programs.selectors.movement_holds import HELD_STATES, standing_holds
from programs.selectors.planned_sessions import visible_planned_sessions
from programs.selectors.session_paces import session_paces
from programs.selectors.timelines import business_timelines, stations_at


class NothingPrescribed(Conflict):
    """A planned session without anything in it to follow."""

    code = "nothing_prescribed"


@dataclass(frozen=True, slots=True, kw_only=True)
class CardFacts:
    """A planned session with its client, and what is known of its exercises.

    ``session`` is the structure of ``prescribed``, place by place; ``exercises`` is by key. ``holds``
    are those for pain that bear upon it. ``reckoning`` is how the business times it where it is planned,
    ``pace`` the client's own.
    """

    planned_session_id: UUID
    business_name: str
    client_id: UUID
    client_name: str
    unit: LoadUnit
    title: str
    week_number: int
    day_number: int
    deload: bool
    state: str
    local_date: date
    window_start: date
    window_end: date
    row_version: int
    prescribed: Mapping[str, Any]
    session: Session
    exercises: Mapping[str, ExerciseFacts]
    holds: tuple[Hold, ...] = ()
    reckoning: TimelinePolicy = field(default_factory=TimelinePolicy)
    pace: ClientPace | None = None


_READ = (
    "id",
    "business__name",
    "client_id",
    "client__name",
    "client__unit",
    "place__kind",
    "title",
    "week_number",
    "day_number",
    "deload",
    "state",
    "local_date",
    "window_start",
    "window_end",
    "row_version",
    "prescribed",
)


def get_card_facts(*, actor: Principal, planned_session_id: UUID) -> CardFacts:
    """Return what a session's card is made of.

    Raises:
        NotFound: no such session that the caller may see.
        NothingPrescribed: the session holds nothing to follow.
    """
    row = visible_planned_sessions(actor).filter(id=planned_session_id).values(*_READ).first()
    if row is None:
        raise NotFound("There is no planned session with this id that you may see.")
    session = _session(row["prescribed"])
    return CardFacts(
        planned_session_id=row["id"],
        business_name=row["business__name"],
        client_id=row["client_id"],
        client_name=row["client__name"],
        unit=cast("LoadUnit", row["client__unit"]),
        title=row["title"],
        week_number=row["week_number"],
        day_number=row["day_number"],
        deload=row["deload"],
        state=row["state"],
        local_date=row["local_date"],
        window_start=row["window_start"],
        window_end=row["window_end"],
        row_version=row["row_version"],
        prescribed=row["prescribed"],
        session=session,
        exercises=exercise_facts(session_exercises(session)),
        holds=_holds(row["client_id"]) if row["state"] in HELD_STATES else (),
        reckoning=business_timelines().at(stations_at(row["place__kind"])),
        pace=session_paces(client_ids=[row["client_id"]]).get(row["client_id"]),
    )


def _holds(client_id: UUID) -> tuple[Hold, ...]:
    return standing_holds(client_ids=[client_id]).get(client_id, ())


def _session(prescribed: Mapping[str, Any]) -> Session:
    try:
        return snapshot_session(prescribed)
    except DocumentError as error:
        raise NothingPrescribed("This session has nothing prescribed in it; plan it again from its version.") from error
