"""Where clients stand this morning, what flags make of the day, and who comes first."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from logs.analysis.overview import (
    ATTENTION_ORDER,
    Attention,
    DueSession,
    MorningFacts,
    StandingFlag,
    Verdict,
    attention,
    counts_of,
    overview_rank,
    readiness,
    state_today,
)

TODAY = date(2031, 3, 5)
MONDAY = date(2031, 3, 3)

SYMPTOM = StandingFlag(kind="symptom", severity="stop", action="stop_training")
SORE_SHOULDER = StandingFlag(kind="pain", severity="stop", action="stop_movement", scope="region:shoulder:left")
SORE_KNEE = StandingFlag(kind="pain", severity="watch", action="no_increase", scope="region:knee:right")
QUIET = StandingFlag(kind="gone_quiet", severity="watch", action="contact")
JUMP = StandingFlag(kind="load_jump", severity="watch", action="no_increase")
NOTED = StandingFlag(kind="load_jump", severity="note", action="note")

# Trained on Monday as planned, nothing today, the program written for weeks, the rules asked this morning.
STEADY = MorningFacts(
    today=TODAY,
    last_due=DueSession(local_date=MONDAY, since=MONDAY, attended=True),
    last_session_on=MONDAY,
    written_until=TODAY + timedelta(days=40),
    evaluated_on=TODAY,
)
# Monday's session passed, and the last log is of the week before.
SILENT = replace(
    STEADY,
    last_due=DueSession(local_date=MONDAY, since=MONDAY, attended=False),
    last_session_on=date(2031, 2, 26),
)


def looked_at(facts: MorningFacts) -> Attention:
    return attention(facts, state_today(facts), readiness(facts).verdict)


@pytest.mark.parametrize(
    ("facts", "state"),
    [
        (STEADY, "resting"),
        (replace(STEADY, last_session_on=TODAY), "trained"),
        (replace(STEADY, last_session_on=TODAY, open_today=True), "trained"),
        (replace(STEADY, last_session_on=TODAY, away=True), "trained"),
        (replace(STEADY, last_session_on=TODAY + timedelta(days=1)), "trained"),
        (replace(STEADY, open_today=True), "due"),
        (replace(SILENT, open_today=True), "due"),
        # An absence "as planned" leaves the session to be done.
        (replace(STEADY, open_today=True, away=True), "due"),
        (replace(STEADY, open_today=True, away=True, suspended=True), "away"),
        (replace(STEADY, suspended=True), "not_planned"),
        (SILENT, "missing"),
        (replace(SILENT, away=True), "away"),
        # The planned one was missed, another was done instead.
        (replace(SILENT, last_session_on=TODAY - timedelta(days=1)), "resting"),
        # Saying how one feels is not training.
        (replace(SILENT, last_check_in_on=TODAY), "missing"),
        (replace(STEADY, written_until=TODAY - timedelta(days=6)), "resting"),
        (replace(STEADY, written_until=TODAY - timedelta(days=7)), "not_planned"),
        (MorningFacts(today=TODAY), "not_planned"),
    ],
)
def test_each_client_stands_in_one_state_today(facts: MorningFacts, state: str):
    assert state_today(facts) == state


def test_nothing_is_noted_only_with_a_log_since_the_last_planned_session():
    assert readiness(STEADY).verdict == "nothing_noted"
    assert readiness(SILENT).verdict == "unknown"
    assert readiness(SILENT).reason == "silent"
    assert "2031-03-03" in readiness(SILENT).sentence
    assert "2031-02-26" in readiness(SILENT).sentence


def test_a_session_done_before_its_date_counts_as_a_log_of_its_interval():
    saturday = MONDAY - timedelta(days=2)
    early = DueSession(local_date=MONDAY, since=saturday, attended=True)
    assert readiness(replace(STEADY, last_due=early, last_session_on=saturday)).verdict == "nothing_noted"


def test_a_check_in_after_a_missed_session_is_a_log_too():
    heard = replace(SILENT, last_check_in_on=TODAY - timedelta(days=1))
    assert readiness(heard).verdict == "nothing_noted"
    assert looked_at(heard) == "missed"


def test_nothing_noted_clears_nobody():
    assert "clears nobody" in readiness(STEADY).sentence


@pytest.mark.parametrize(
    ("facts", "reason"),
    [
        (replace(STEADY, coached=False), "not_coached"),
        (replace(STEADY, evaluated_on=None), "not_evaluated"),
        (replace(STEADY, evaluated_on=TODAY - timedelta(days=1)), "not_evaluated"),
        (replace(STEADY, being_refreshed=True), "not_evaluated"),
        (replace(STEADY, last_due=None), "nothing_due_yet"),
        (replace(STEADY, last_due=None, last_check_in_on=TODAY), "nothing_due_yet"),
        (replace(STEADY, last_due=None, away=True), "away"),
        (replace(STEADY, last_due=None, written_until=None), "nothing_planned"),
        (replace(STEADY, last_due=None, written_until=TODAY - timedelta(days=1)), "nothing_planned"),
        (SILENT, "silent"),
        (replace(SILENT, last_session_on=None), "silent"),
        (MorningFacts(today=TODAY), "not_evaluated"),
    ],
)
def test_what_is_missing_reads_as_unknown_with_its_reason(facts: MorningFacts, reason: str):
    found = readiness(facts)
    assert (found.verdict, found.reason) == ("unknown", reason)
    assert found.sentence


@pytest.mark.parametrize(
    ("flags", "verdict", "scopes"),
    [
        ((SYMPTOM,), "stop", ("all",)),
        ((JUMP, SORE_SHOULDER), "stop", ("region:shoulder:left",)),
        ((SORE_SHOULDER, SYMPTOM), "stop", ("all", "region:shoulder:left")),
        ((SORE_KNEE,), "watch", ("region:knee:right",)),
        ((SORE_KNEE, JUMP), "watch", ("all", "region:knee:right")),
        ((NOTED,), "nothing_noted", ()),
    ],
)
def test_the_verdict_is_made_of_the_standing_flags(flags: tuple[StandingFlag, ...], verdict: str, scopes: tuple[str]):
    found = readiness(replace(STEADY, flags=flags))
    assert (found.verdict, found.scopes, found.reason) == (verdict, scopes, None)


@pytest.mark.parametrize("facts", [SILENT, replace(STEADY, coached=False), MorningFacts(today=TODAY)])
def test_a_flag_is_heard_whatever_is_missing(facts: MorningFacts):
    assert readiness(replace(facts, flags=(SYMPTOM,))).verdict == "stop"
    assert readiness(replace(facts, flags=(JUMP,))).verdict == "watch"


def test_a_sore_shoulder_stops_what_loads_it_and_no_squat():
    sentence = readiness(replace(STEADY, flags=(SORE_SHOULDER,))).sentence
    assert "left shoulder" in sentence
    assert "other movements are not stopped" in sentence
    assert readiness(replace(STEADY, flags=(SYMPTOM,))).sentence.startswith("Training is to stop")


def test_the_verdict_says_what_it_does_not_rest_on():
    found = readiness(replace(STEADY, measured=frozenset({"session_log", "wellness"})))
    assert found.not_measured == ("session_rpe", "resting_heart_rate", "heart_rate_variability")


@pytest.mark.parametrize(
    ("facts", "found"),
    [
        (replace(SILENT, flags=(QUIET, SYMPTOM)), "stop"),
        (replace(STEADY, flags=(SORE_SHOULDER,)), "stop"),
        (replace(SILENT, flags=(JUMP, QUIET)), "contact"),
        (replace(SILENT, flags=(JUMP,)), "missed"),
        (replace(STEADY, sessions_missed=1, flags=(JUMP,)), "missed"),
        (replace(STEADY, flags=(JUMP,), written_until=TODAY), "watch"),
        (replace(STEADY, written_until=TODAY + timedelta(days=10), being_refreshed=True), "runs_out"),
        (replace(STEADY, written_until=TODAY + timedelta(days=11)), "none"),
        (replace(STEADY, written_until=None), "runs_out"),
        (replace(STEADY, evaluated_on=None), "unknown"),
        (STEADY, "none"),
    ],
)
def test_the_most_urgent_ground_decides_a_clients_place(facts: MorningFacts, found: str):
    assert looked_at(facts) == found


@pytest.mark.parametrize("excused", [{"away": True}, {"suspended": True, "coached": False}])
def test_who_is_away_or_paused_comes_first_for_flags_alone(excused: dict[str, bool]):
    facts = replace(SILENT, sessions_missed=2, written_until=None, **excused)
    assert looked_at(facts) == "none"
    assert looked_at(replace(facts, flags=(SYMPTOM,))) == "stop"
    assert looked_at(replace(facts, flags=(QUIET,))) == "contact"
    assert looked_at(replace(facts, flags=(JUMP,))) == "watch"


def test_of_those_not_coached_neither_an_ending_program_nor_silence_is_asked():
    assert looked_at(MorningFacts(today=TODAY, coached=False)) == "none"


def test_the_page_runs_from_stop_to_the_rest():
    assert ATTENTION_ORDER == ("stop", "contact", "missed", "watch", "runs_out", "unknown", "none")
    assert [overview_rank(one) for one in ATTENTION_ORDER] == list(range(7))


@pytest.mark.parametrize("verdict", ["stop", "watch", "unknown", "nothing_noted"])
def test_a_client_always_has_a_place(verdict: Verdict):
    assert attention(STEADY, "resting", verdict) in ATTENTION_ORDER


def test_last_contact_is_the_latest_log_of_any_kind():
    assert STEADY.last_contact_on == MONDAY
    assert replace(STEADY, last_check_in_on=TODAY).last_contact_days == 0
    assert STEADY.last_contact_days == 2
    assert replace(STEADY, last_check_in_on=TODAY + timedelta(days=1)).last_contact_days == 0
    assert MorningFacts(today=TODAY).last_contact_on is None
    assert MorningFacts(today=TODAY).last_contact_days is None


def test_counts_name_every_word():
    assert counts_of(["due", "due"], ["trained", "due"]) == {"trained": 0, "due": 2}
