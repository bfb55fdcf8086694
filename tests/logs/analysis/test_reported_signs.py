from datetime import date

import pytest

from coaching.screening.red_flags import UnknownSymptomError
from logs.analysis.readiness import FlagRecord, advance, evidence_token
from logs.analysis.reported_signs import (
    PainPolicy,
    PainReport,
    SymptomReport,
    immediate_caution,
    pain_states,
    symptom_state,
)


def pain(day, score, *, site="shoulder", identity=None, **changes):
    return PainReport(
        identity=identity or f"{site}-{day}-{score}",
        local_date=date(2031, 3, day),
        site=site,
        score=score,
        **changes,
    )


def only(reports, **options):
    (state,) = pain_states(reports, **options)
    return state


def symptoms(day, *codes):
    return SymptomReport(identity=f"c{day}", local_date=date(2031, 3, day), codes=codes)


def test_any_red_flag_symptom_stops_training_for_the_whole_person():
    state = symptom_state([symptoms(5, "dizziness"), symptoms(4, "chest_pain"), symptoms(6)])
    assert (state.holds, state.scope, state.severity, state.action) == (True, "all", "stop", "stop_training")
    assert state.figures["symptoms"] == ["chest_pain", "dizziness"]
    assert "emergency number" in state.caution
    assert state.evidence == (evidence_token("c4"), evidence_token("c5"))


def test_reports_that_a_person_has_settled_are_not_raised_again():
    reports = [symptoms(4, "chest_pain"), symptoms(5, "dizziness")]
    state = symptom_state(reports, settled={evidence_token("c4")})
    assert state.figures["symptoms"] == ["dizziness"]
    assert not symptom_state(reports, settled={evidence_token("c4"), evidence_token("c5")}).holds


def test_no_symptom_is_said_so():
    assert not symptom_state([symptoms(4)]).holds


def test_an_unknown_symptom_is_refused():
    with pytest.raises(UnknownSymptomError):
        symptom_state([symptoms(4, "chest_pains")])


@pytest.mark.parametrize(
    ("report", "holds", "severity", "action"),
    [
        (pain(5, 6), True, "stop", "stop_movement"),
        (pain(5, 10, onset="new", sharp=True), True, "stop", "stop_movement"),
        (pain(5, 5), True, "watch", "no_increase"),
        (pain(5, 3), True, "watch", "no_increase"),
        (pain(5, 4, onset="new", sharp=True), True, "watch", "contact"),
        (pain(5, 1, onset="new", sharp=True), True, "watch", "contact"),
        (pain(5, 2), False, "note", "note"),
        (pain(5, 0), False, "note", "note"),
        (pain(5, 2, onset="new"), False, "note", "note"),
    ],
)
def test_the_score_and_its_kind_decide_what_is_asked(report, holds, severity, action):
    state = only([report])
    assert (state.holds, state.severity, state.action) == (holds, severity, action)


def test_a_rise_over_three_reports_holds_loads_even_at_low_scores():
    assert only([pain(3, 0), pain(4, 1), pain(5, 2)]).action == "no_increase"
    assert not only([pain(3, 1), pain(4, 1), pain(5, 2)]).holds
    assert not only([pain(4, 1), pain(5, 2)]).holds


def test_pain_that_is_worse_the_next_morning_holds_loads():
    assert only([pain(4, 1), pain(5, 2, when="next_morning")]).figures["grounds"] == ["worse the next morning"]
    assert not only([pain(4, 2), pain(5, 2, when="next_morning")]).holds
    assert not only([pain(5, 2, when="next_morning")]).holds


def test_a_bad_report_and_a_better_one_that_arrive_together_still_count():
    state = only([pain(5, 1), pain(3, 7, exercise="bench-press")])
    assert (state.action, state.figures["worst_score"], state.figures["last_score"]) == ("stop_movement", 7, 1)
    assert state.figures["exercises"] == ["bench-press"]


def test_a_sore_shoulder_says_nothing_of_the_knee():
    states = pain_states([pain(5, 7, side="left"), pain(5, 1, site="knee")])
    assert [(state.scope, state.holds) for state in states] == [
        ("region:knee", False),
        ("region:shoulder:left", True),
    ]


def test_a_new_report_reopens_what_was_resolved_at_its_own_score():
    seen = only([pain(3, 7)])
    resolved = FlagRecord(kind="pain", scope=seen.scope, standing="resolved", evidence=seen.evidence)
    reports = [pain(3, 7), pain(5, 4)]
    state = only(reports, settled=set(resolved.evidence))
    assert state.action == "no_increase"
    assert advance(resolved, state).step == "open"
    better = only([pain(3, 7), pain(5, 1)], settled=set(resolved.evidence))
    assert advance(resolved, better).step == "none"


def test_old_reports_are_left_to_the_flag_that_they_opened():
    assert not only([pain(1, 7), pain(16, 1)]).holds
    assert only([pain(2, 7), pain(16, 1)]).holds


def test_a_business_may_set_its_own_bounds():
    assert only([pain(5, 5)], policy=PainPolicy(stop_score=5)).action == "stop_movement"


def test_a_score_off_the_scale_is_refused():
    with pytest.raises(ValueError, match="0 to 10"):
        pain_states([pain(5, 11)])


def test_the_answer_to_a_harmless_report_says_nothing():
    assert immediate_caution([], []) is None
    assert immediate_caution([], [pain(5, 5), pain(5, 2, onset="new")]) is None


def test_the_answer_to_a_red_flag_says_to_stop_and_whom_to_call():
    caution = immediate_caution(["chest_pain"], [pain(5, 2)])
    assert (caution.action, caution.urgency, caution.codes) == ("stop_training", "emergency", ("chest_pain",))
    assert "call your local emergency number" in caution.sentence


def test_the_answer_to_strong_pain_says_to_stop_the_movement_and_have_it_assessed():
    caution = immediate_caution([], [pain(5, 6, side="left"), pain(5, 4)])
    assert (caution.action, caution.sites) == ("stop_movement", ("left shoulder",))
    assert "have it assessed" in caution.sentence
    assert "not a diagnosis" in caution.sentence


def test_the_answer_to_new_sharp_pain_says_to_speak_to_the_coach():
    assert immediate_caution([], [pain(5, 3, onset="new", sharp=True)]).action == "contact"


def test_the_answer_to_both_says_both():
    caution = immediate_caution(["dizziness"], [pain(5, 8)])
    assert caution.action == "stop_training"
    assert "dizziness" in caution.sentence
    assert "pain in the shoulder" in caution.sentence


def test_a_caution_about_pain_that_no_coach_will_see_says_so_and_may_leave_the_site_out():
    told = immediate_caution([], [pain(5, 8, side="left")], stored=False)
    assert "sees this report" not in told.sentence
    assert "tell your coach yourself" in told.sentence
    assert told.sites
    general = immediate_caution([], [pain(5, 8, side="left")], stored=False, named=False)
    assert (general.action, general.sites) == (told.action, ())
    assert general.sentence.startswith("Stop the movements")
