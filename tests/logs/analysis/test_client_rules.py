"""All the rules together, of one client on one day."""

from datetime import date, timedelta

from coaching.measures.local_calendar import DateSpan
from logs.analysis.client_rules import ClientSituation, DailyFacts, client_rule_states
from logs.analysis.readiness import DAILY_KINDS, FLAG_KINDS
from logs.analysis.reported_signs import SymptomReport
from logs.analysis.tempo_faults import MeasuredSet

TODAY = date(2031, 3, 5)
REPORT = SymptomReport(identity="c-1", local_date=TODAY, codes=("dizziness",))
STARTED = TODAY - timedelta(days=30)


def holding(situation: ClientSituation) -> set[str]:
    return {state.kind for state in client_rule_states(situation) if state.holds}


def test_nothing_holds_of_somebody_of_whom_nothing_is_known():
    assert holding(ClientSituation(today=TODAY)) == set()


def test_a_symptom_and_silence_are_told_at_once():
    assert holding(ClientSituation(today=TODAY, symptoms=[REPORT], start_date=STARTED)) == {"symptom", "gone_quiet"}


def test_an_absence_silences_what_time_tells_and_never_what_the_person_tells():
    away = ClientSituation(today=TODAY, symptoms=[REPORT], start_date=STARTED, absences=[DateSpan(STARTED, TODAY)])
    assert holding(away) == {"symptom"}


def test_a_pause_is_no_silence():
    paused = ClientSituation(today=TODAY, start_date=STARTED, pauses=[DateSpan(STARTED, None)])
    assert holding(paused) == set()


def test_who_is_not_coached_is_heard_and_not_missed():
    left = ClientSituation(today=TODAY, coached=False, symptoms=[REPORT], start_date=STARTED)
    assert [state.kind for state in client_rule_states(left)] == ["symptom"]


def test_the_daily_rules_speak_only_where_they_are_asked():
    faulty = [
        MeasuredSet(session=str(ago), local_date=TODAY - timedelta(days=ago), exercise="back-squat", faulty=True)
        for ago in (0, 2, 4)
        for _ in range(3)
    ]
    daily = DailyFacts(measured_sets=faulty)
    assert holding(ClientSituation(today=TODAY, daily=daily)) == {"tempo_faults"}
    assert holding(ClientSituation(today=TODAY, daily=daily, coached=False)) == set()
    assert not {state.kind for state in client_rule_states(ClientSituation(today=TODAY))} & DAILY_KINDS


def test_a_program_that_runs_out_is_silent_during_a_pause():
    assert holding(ClientSituation(today=TODAY, written_until=TODAY)) == {"program_runs_out"}
    paused = ClientSituation(today=TODAY, written_until=TODAY, pauses=[DateSpan(TODAY, None)])
    assert holding(paused) == set()


def test_every_kind_that_a_rule_speaks_of_is_a_kind_of_flag():
    assert {state.kind for state in client_rule_states(ClientSituation(today=TODAY))} <= set(FLAG_KINDS)
    assert set(FLAG_KINDS) >= DAILY_KINDS
