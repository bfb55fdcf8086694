"""Analyses of sessions that are not stored, and of stored versions, against the business's catalogue and a client."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from coaching.models import Client
from coaching.policy import Principal
from coaching.refusals import Invalid
from programs.models import Version
from programs.prescription.analysis import AnalysisPolicy, SessionAnalysis, analyse_session
from programs.prescription.document import DocumentError, decode_session, encode_session
from programs.prescription.heart_rate import (
    HeartRateError,
    HeartRateTargets,
    NoHeartRateTargets,
    age_years,
    heart_rate_targets,
)
from programs.prescription.rest_findings import is_novice
from programs.prescription.session_pace import PacedTime, paced_time
from programs.prescription.structure import ExerciseFacts, Session, session_exercises
from programs.prescription.timeline_policy import Place
from programs.prescription.version_analysis import VersionAnalysis, analyse_version
from programs.prescription.written_analysis import analyse_written
from programs.selectors.business_calendar import get_business_calendar
from programs.selectors.exercises import exercise_facts
from programs.selectors.prescriptions import (
    check_exercises,
    refused_document,
    session_places,
    stored_content,
    usual_minutes,
)
from programs.selectors.session_paces import session_paces
from programs.selectors.timelines import business_timelines
from programs.selectors.visible_clients import get_named_client
from programs.selectors.written_sessions import WrittenSession, read_written_session

SESSION_PLACE = "#/session"


@dataclass(frozen=True, slots=True)
class Circumstances:
    """For whom, where and when a session is analysed, as the caller says it.

    Attributes:
        client_id: whose minutes, training age and heart rates it is held against.
        minutes: the minutes available, before the client's own.
        place: where it is done, which says how long changing station takes.
        resting_bpm: the client's resting heart rate.
    """

    client_id: UUID | None = None
    minutes: int | None = None
    place: Place = "gym"
    resting_bpm: int | None = None


@dataclass(frozen=True, slots=True)
class AnalysedSession:
    """A session's analysis with what it was read from.

    Attributes:
        analysis: None where a text has faults that leave nothing to analyse.
        facts: what is known of the exercises, by the name given.
        heart_rate: the client's targets, or why there are none; None without a client or without conditioning.
        pace: the session's time at the client's usual pace; None without a client.
        written: the text as read; None where a document was given.
    """

    analysis: SessionAnalysis | None
    facts: Mapping[str, ExerciseFacts]
    heart_rate: HeartRateTargets | NoHeartRateTargets | None = None
    pace: PacedTime | None = None
    written: WrittenSession | None = None


@dataclass(frozen=True, slots=True)
class _Ground:
    """What the analysis goes by: the minutes, how time is reckoned, and the client's heart rates."""

    minutes: int | None
    policy: AnalysisPolicy
    heart_rate: HeartRateTargets | NoHeartRateTargets | None
    client_id: UUID | None = None


def version_analysis(version: Version) -> tuple[VersionAnalysis, Mapping[str, ExerciseFacts]]:
    """Analyse a stored version; also return what is known of its exercises."""
    content, facts = stored_content(version)
    return analyse_version(content, facts, policy=AnalysisPolicy(timeline=business_timelines().gym)), facts


def session_analysis(
    *, actor: Principal, session: object, circumstances: Circumstances, now: datetime
) -> AnalysedSession:
    """Analyse a session's document that is not stored.

    Args:
        actor: who asks.
        session: the session's document.
        circumstances: for whom and where.
        now: when, for the client's age and months of training.

    Raises:
        InvalidPrescription: the document can't be followed, or names an unknown exercise.
        UnknownObject: no such client that the caller may see.
        Invalid: a resting heart rate that nobody has, or without a client.
    """
    try:
        decoded = decode_session(session)
    except DocumentError as error:
        raise refused_document(error, SESSION_PLACE) from None
    facts = exercise_facts(session_exercises(decoded))
    check_exercises(session_places(decoded, SESSION_PLACE), facts)
    ground = _ground(actor, circumstances, now)
    analysis = analyse_session(
        decoded, facts, minutes_available=ground.minutes, policy=ground.policy, pointer=SESSION_PLACE
    )
    return _analysed(analysis, facts, ground)


def written_analysis(*, actor: Principal, text: str, circumstances: Circumstances, now: datetime) -> AnalysedSession:
    """Analyse a written session that is not stored; of a text with faults, what could be read.

    Args and raises as `session_analysis`, but for the document's refusals: faults of the text are in the answer.
    """
    written = read_written_session(text)
    session = written.result.session
    facts = exercise_facts(session_exercises(session))
    ground = _ground(actor, circumstances, now)
    if not _can_be_performed(session):
        return AnalysedSession(None, facts, written=written)
    analysis = analyse_written(
        written.result, facts, minutes_available=ground.minutes, policy=ground.policy, pointer=SESSION_PLACE
    )
    return _analysed(analysis, facts, ground, written)


def _analysed(
    analysis: SessionAnalysis,
    facts: Mapping[str, ExerciseFacts],
    ground: _Ground,
    written: WrittenSession | None = None,
) -> AnalysedSession:
    pace: PacedTime | None = None
    if ground.client_id is not None:
        own = session_paces(client_ids=[ground.client_id]).get(ground.client_id)
        pace = paced_time(analysis.timeline.low_min, analysis.timeline.high_min, own)
    heart_rate = ground.heart_rate if analysis.conditioning else None
    return AnalysedSession(analysis, facts, heart_rate=heart_rate, pace=pace, written=written)


def _can_be_performed(session: Session) -> bool:
    """Say whether what was read is a session by itself, since a fault may have left a block without its measure."""
    try:
        decode_session(encode_session(session))
    except DocumentError:
        return False
    return True


def _ground(actor: Principal, circumstances: Circumstances, now: datetime) -> _Ground:
    timeline = business_timelines().at(circumstances.place)
    if circumstances.client_id is None:
        if circumstances.resting_bpm is not None:
            raise Invalid.at("#/resting_bpm", "Name the client whose resting heart rate this is.", "no_client")
        return _Ground(circumstances.minutes, AnalysisPolicy(timeline=timeline), None)
    client = get_named_client(actor=actor, client_id=circumstances.client_id, pointer="#/client")
    today = get_business_calendar().today(now, client.time_zone)
    novice = is_novice(client.training_since, today)
    return _Ground(
        minutes=usual_minutes(client) if circumstances.minutes is None else circumstances.minutes,
        policy=AnalysisPolicy(timeline=timeline, novice=novice),
        heart_rate=_heart_rate(
            client,
            resting_bpm=circumstances.resting_bpm,
            age=None if client.birth_date is None else age_years(client.birth_date, today),
        ),
        client_id=client.id,
    )


def _heart_rate(client: Client, *, resting_bpm: int | None, age: int | None) -> HeartRateTargets | NoHeartRateTargets:
    try:
        return heart_rate_targets(
            resting_bpm=resting_bpm,
            measured_max_bpm=client.max_hr_bpm,
            age_years=age,
            care_groups=client.care_groups,
        )
    except HeartRateError as error:
        raise Invalid.at("#/resting_bpm", str(error), error.code) from None
