from decimal import Decimal

import pytest

from logs.analysis.detectable_changes import averaged_change, minimal_detectable_change
from logs.analysis.lift_records import records
from tests.logs.analysis.lifted_sets import PULL_UP, SQUAT, lines_of, one_a_week


def sessions_of(*weeks, body=Decimal(0), exercise=SQUAT):
    sets = one_a_week(weeks, exercise)
    ((_line, sessions),) = lines_of(*sets, body=lambda _one: body).items()
    return sessions


def at(reps, load, reserve=0, **more):
    return {"reps": reps, "load_kg": Decimal(load), "in_reserve": Decimal(reserve)} | more


def of_kind(found, kind):
    return [record for record in found if record.kind == kind]


def test_a_best_estimate_within_noise_says_so():
    (best,) = of_kind(records(sessions_of([at(1, 120)], [at(1, 125)])), "best_estimate")
    assert (best.gain, best.exceeds_noise) == (Decimal(5), False)
    assert best.mdc95_kg == pytest.approx(13.97, abs=0.005)
    assert best.sentence == (
        "Best estimate 125 kg on 2031-03-10, 5 kg over 120 kg on 2031-03-03 (4.2 %): one test is told from noise from "
        "13.97 kg (11.6 %) on, so alone it does not show that strength has changed."
    )


def test_a_gain_beyond_noise_is_likely_strength():
    (best,) = of_kind(records(sessions_of([at(1, 100)], [at(1, 115)])), "best_estimate")
    assert best.exceeds_noise
    assert best.sentence.endswith("so strength has likely changed.")


def test_the_first_best_has_nothing_before_it():
    (best,) = of_kind(records(sessions_of([at(1, 100)], [at(1, 90)])), "best_estimate")
    assert (best.gain, best.exceeds_noise, best.earlier) == (None, None, None)
    assert best.sentence.endswith("none before it.")


def test_a_low_confidence_estimate_holds_no_record():
    (best,) = of_kind(records(sessions_of([at(1, 100)], [at(11, 90)])), "best_estimate")
    assert best.achieved.load_kg == 100


def test_a_repetition_record_is_a_record():
    found = of_kind(records(sessions_of([at(6, 80)], [at(7, 80)], [at(9, "80.5")])), "most_repetitions")
    assert [(record.achieved.repetitions, record.gain) for record in found] == [(9, Decimal(2))]
    assert found[0].exceeds_noise is None
    assert found[0].sentence == (
        "Most at 80.5 kg: 9 repetitions on 2031-03-17, 2 more than ever before: a repetition record is a record."
    )


def test_who_first_reached_a_number_of_repetitions_holds_it():
    (record,) = of_kind(records(sessions_of([at(6, 80)], [at(8, 80)], [at(8, 80)])), "most_repetitions")
    assert (record.achieved.session_id, record.gain) == ("s1", Decimal(2))


def test_each_number_of_repetitions_has_its_heaviest_load():
    found = of_kind(records(sessions_of([at(5, 100), at(8, 85)], [at(5, 105)], [at(8, 90)])), "best_load")
    assert [(record.achieved.repetitions, record.achieved.load_kg, record.gain) for record in found] == [
        (5, Decimal(105), Decimal(5)),
        (8, Decimal(90), Decimal(5)),
    ]
    assert found[0].sentence.startswith("Heaviest for 5 repetitions: 105 kg on 2031-03-10, 5 kg over 100 kg on")


def test_a_heavier_set_that_was_harder_is_a_record_and_shows_no_strength():
    (harder,) = of_kind(records(sessions_of([at(5, 80, 4)], [at(5, 100, 0)])), "best_load")
    assert (harder.gain, harder.exceeds_noise) == (Decimal(20), None)
    assert harder.sentence == (
        "Heaviest for 5 repetitions: 100 kg on 2031-03-10, 20 kg over 80 kg on 2031-03-03 (25.0 %): at 0 in reserve "
        "against 4 then, so alone it does not show that strength has changed."
    )


def test_a_heavier_set_of_unknown_effort_shows_no_strength():
    weeks = [at(5, 80)], [at(5, 100, in_reserve=None)]
    (unknown,) = of_kind(records(sessions_of(*weeks)), "best_load")
    assert unknown.exceeds_noise is None
    assert ": effort is not known both times, so alone it does not show" in unknown.sentence


def test_a_heavier_set_with_as_much_in_reserve_is_held_against_noise():
    (easier,) = of_kind(records(sessions_of([at(5, 80, 1)], [at(5, 100, 2)])), "best_load")
    assert easier.exceeds_noise
    assert easier.sentence.endswith("so strength has likely changed.")


def test_an_added_load_is_held_against_the_noise_of_the_whole():
    added = {"load_basis": "added"}
    sessions = sessions_of([at(1, 10, **added)], [at(1, 15, **added)], body=Decimal(70), exercise=PULL_UP)
    (best,) = of_kind(records(sessions), "best_estimate")
    assert best.gain_pct == pytest.approx(5 / 80 * 100)
    assert best.mdc95_kg == pytest.approx(80 * minimal_detectable_change() / 100)


def test_means_of_sessions_are_told_from_noise_sooner():
    weeks = [[at(1, load)] for load in (100, 102, 101, 101, 108, 107, 109, 108)]
    found = averaged_change(sessions_of(*weeks))
    assert (found.sessions, found.latest_kg, found.before_kg) == (4, 108.0, 101.0)
    assert found.mdc95_pct == pytest.approx(5.82, abs=0.005)
    assert found.exceeds_noise
    assert found.sentence.endswith("means of 4 are told from noise from 5.8 % on, so this is a change.")


def test_under_four_sessions_no_means_are_compared():
    found = averaged_change(sessions_of([at(1, 100)], [at(1, 100)], [at(1, 150)]))
    assert (found.sessions, found.change_pct) == (0, None)


def test_no_session_is_no_measurement():
    with pytest.raises(ValueError, match="At least one session"):
        minimal_detectable_change(sessions=0)
