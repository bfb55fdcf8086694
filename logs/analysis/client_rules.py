"""Everything that the rules say of one client on one day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from coaching.measures.local_calendar import DateSpan
from logs.analysis.attendance import (
    AttendancePolicy,
    AttendedSession,
    FloatingWeek,
    gone_quiet_state,
    missed_in_a_row_state,
)
from logs.analysis.check_in_scales import CheckInEntry
from logs.analysis.effort_creep import EffortExposure, effort_creep_states
from logs.analysis.load_jumps import WeekLoad, load_jump_state
from logs.analysis.program_end import program_runs_out_state
from logs.analysis.readiness import RuleState
from logs.analysis.reported_signs import PainReport, SymptomReport, pain_states, symptom_state
from logs.analysis.session_lengths import PerformedSession, session_too_long_state, sessions_cut_short_state
from logs.analysis.tempo_faults import MeasuredSet, tempo_faults_states
from logs.analysis.wellness_flags import low_wellness_state, resting_heart_rate_state

_ATTENDANCE = AttendancePolicy()


@dataclass(frozen=True, slots=True, kw_only=True)
class DailyFacts:
    """What the rules of `DAILY_KINDS` read: weeks of sets, so that they are asked once a day and not at each log.

    Attributes:
        efforts: Alike sets of the last eight weeks with their effort.
        measured_sets: Sets of the last weeks whose tempo was measured.
    """

    efforts: Sequence[EffortExposure] = ()
    measured_sets: Sequence[MeasuredSet] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientSituation:
    """What the rules read of a client.

    Attributes:
        today: The client's local date.
        coached: Whether the client is being coached at present, so that staying away means anything.
        symptoms: Reports of red-flag symptoms of the last days.
        pains: Reports of pain of the last days.
        settled: Evidence of flags of either kind that a person has resolved.
        sessions: Planned sessions of the last weeks that do not float.
        floating_weeks: Weeks of floating sessions.
        absences: Days away.
        pauses: Days on which the program stands still.
        start_date: When the present program started or starts; None without one.
        written_until: The last planned date of the programs that run; None without one.
        performed: The latest planned sessions that were done at least in part.
        contact_dates: Local dates with a log of any kind.
        weeks: Weekly loads.
        check_ins: Check-ins of the last weeks.
        care_groups: The client's, which switch rules off.
        attendance: What the business set about attendance.
        daily: What the daily rules read; None where they are not asked.
    """

    today: date
    coached: bool = True
    symptoms: Sequence[SymptomReport] = ()
    pains: Sequence[PainReport] = ()
    settled: frozenset[str] = frozenset()
    sessions: Sequence[AttendedSession] = ()
    floating_weeks: Sequence[FloatingWeek] = ()
    absences: Sequence[DateSpan] = ()
    pauses: Sequence[DateSpan] = ()
    start_date: date | None = None
    written_until: date | None = None
    performed: Sequence[PerformedSession] = ()
    contact_dates: Sequence[date] = ()
    weeks: Sequence[WeekLoad] = ()
    check_ins: Sequence[CheckInEntry] = ()
    care_groups: frozenset[str] = frozenset()
    attendance: AttendancePolicy = _ATTENDANCE
    daily: DailyFacts | None = None


def client_rule_states(situation: ClientSituation) -> list[RuleState]:
    """Ask every rule about a client.

    Args:
        situation: What the rules read.

    Returns:
        One state per kind and scope. What people report of themselves is heard on every day, also during an absence
        and of whoever is not coached at present: a rule that leaves out absent days must not silence it. The other
        rules say nothing about someone who is not coached.

    Raises:
        UnknownSymptomError: A symptom's code is not in the list.
        ValueError: A pain's score is outside 0 to 10.

    Source: practice.
    """
    states = pain_states(situation.pains, settled=situation.settled)
    if situation.symptoms:
        states.append(symptom_state(situation.symptoms, settled=situation.settled))
    if not situation.coached:
        return states
    away = (*situation.absences, *situation.pauses)
    return [
        *states,
        missed_in_a_row_state(situation.sessions, situation.floating_weeks, away, situation.attendance),
        gone_quiet_state(
            today=situation.today,
            start_date=situation.start_date,
            contact_dates=situation.contact_dates,
            absences=away,
            policy=situation.attendance,
        ),
        load_jump_state(situation.weeks),
        low_wellness_state(situation.check_ins, situation.today, situation.absences),
        resting_heart_rate_state(situation.check_ins, situation.today, situation.absences, situation.care_groups),
        program_runs_out_state(situation.written_until, situation.today, away),
        sessions_cut_short_state(situation.performed, situation.today, situation.absences),
        session_too_long_state(situation.performed, situation.today, situation.absences),
        *_daily_states(situation),
    ]


def _daily_states(situation: ClientSituation) -> list[RuleState]:
    if situation.daily is None:
        return []
    built_weeks = [week.week_start for week in situation.weeks if week.planned_build]
    return [
        *effort_creep_states(situation.daily.efforts, situation.today, situation.absences, built_weeks),
        *tempo_faults_states(situation.daily.measured_sets, situation.today, situation.absences),
    ]
