from datetime import timedelta
from decimal import Decimal

from logs.analysis.facts import SegmentFact
from logs.analysis.lift_lines import LiftLine, kept_sessions, line_of
from logs.analysis.lift_values import lift_values
from logs.analysis.lift_weeks import AwayDays, left_out_weeks, line_slopes
from logs.analysis.trend_verdicts import VERDICTS
from programs.prescription.tempo import parse_tempo
from tests.logs.analysis.lifted_sets import LEG_PRESS, MONDAY, PULL_UP, lines_of, no_body, one


def test_unlike_sides_tempos_and_machines_stand_on_lines_of_their_own():
    lines = lines_of(one(), one(side="left"), one(tempo_class="slow"), one(machine="rack 2"))
    assert [line.key for line in lines] == [
        "back-squat/both/slow",
        "back-squat/both/standard",
        "back-squat/both/standard//rack 2",
        "back-squat/left/standard",
    ]


def test_the_place_counts_only_where_no_two_are_built_alike():
    assert line_of(one(place="gym")).place == ""
    assert line_of(one(LEG_PRESS, place="gym")).place == "gym"


def test_lines_are_named_as_the_weekly_values_name_them():
    sets = [
        one(LEG_PRESS, place="gym", machine="a/b"),
        one(LEG_PRESS, place="gym"),
        one(),
        one(side="right", machine="m"),
    ]
    assert set(lift_values(sets, no_body, "epley")) == {line.key for line in lines_of(*sets)}


def test_a_sessions_best_is_the_weekly_value_of_a_week_of_that_session():
    for formula in ("epley", "brzycki", "lombardi", "oconner", "mayhew", "wathan", "lander"):
        sets = [one(reps=5), one(number=2, reps=8, load_kg=Decimal(90)), one(number=3, reps=11, load_kg=Decimal(95))]
        (session,) = lines_of(*sets, formula=formula)[line_of(sets[0])]
        assert session.best.enters_line
        assert session.best.value_kg == lift_values(sets, no_body, formula)["back-squat/both/standard"].value_kg


def test_eleven_repetitions_are_shown_with_low_confidence_and_stay_off_the_line():
    (session,) = lines_of(one(reps=9))[line_of(one())]
    assert (session.best.confidence, session.best.reason) == ("low", "over_10_repetitions")
    assert session.best.value_kg is not None
    assert not session.best.enters_line


def test_a_helped_lift_has_no_estimate_whatever_its_effort():
    (session,) = lines_of(one(tempo_class="assisted"))[line_of(one(tempo_class="assisted"))]
    assert (session.best.value_kg, session.best.reason) == (None, "assisted")


def test_an_added_load_is_estimated_with_the_body_and_given_without():
    pull_up = one(PULL_UP, load_kg=Decimal(10), load_basis="added")
    (session,) = lines_of(pull_up, body=lambda _one: Decimal(76))[line_of(pull_up)]
    # 86 kg for 7 to failure is 106.066667; without the 76 of the body 30.066667.
    assert session.best.value_kg == Decimal("30.066667")
    (unknown,) = lines_of(pull_up, body=lambda _one: None)[line_of(pull_up)]
    assert (unknown.best.value_kg, unknown.best.reason) == (None, "no_bodyweight")


def test_the_first_part_of_a_cluster_is_what_is_read():
    cluster = one(reps=None, segments=(SegmentFact(reps=3), SegmentFact(reps=2)), tempo=parse_tempo("20X1"))
    (session,) = lines_of(cluster)[line_of(cluster)]
    assert (session.best.repetitions, session.best.tempo) == (3, "20X1")


def test_holds_and_bands_stand_on_no_line():
    assert lines_of(one(reps=None), one(load_kg=None)) == {}


def test_weeks_of_illness_absence_and_deload_stay_out_each_with_its_reason():
    weeks = [MONDAY + timedelta(days=7 * week) for week in range(5)]
    away = [
        AwayDays(first=weeks[1] + timedelta(days=6), last=weeks[1] + timedelta(days=6), ill=False),
        AwayDays(first=weeks[3], last=weeks[3], ill=False),
        AwayDays(first=weeks[3] + timedelta(days=2), last=weeks[3] + timedelta(days=3), ill=True),
    ]
    found = left_out_weeks(weeks, {weeks[0], weeks[1]}, away)
    assert found == {weeks[0]: "deload", weeks[1]: "away", weeks[3]: "ill"}


def test_sessions_of_weeks_that_stay_out_are_left_out():
    sessions = lines_of(one(), one(week=1, session="s2"))[line_of(one())]
    kept = kept_sessions(sessions, lambda day: "deload" if day == MONDAY else "")
    assert [session.session_id for session in kept] == ["s2"]


def test_lines_of_unlike_weeks_are_judged_at_once():
    weeks = [MONDAY + timedelta(days=7 * week) for week in range(12)]
    rising = {week: 100.0 + number for number, week in enumerate(weeks)}
    few = dict.fromkeys(weeks[:3], 100.0)
    falling = {week: 100.0 - number for number, week in enumerate(weeks) if number % 3}
    found = line_slopes([rising, few, falling, {}], [0, 0, 0, 0])
    assert [VERDICTS[code] for code in found.codes] == ["improving", "not_enough_data", "declining", "not_enough_data"]
    assert [found.slope(row).n for row in range(4)] == [12, 3, 8, 0]
    assert found.slope(3).per_day is None


def test_no_lines_are_no_trouble():
    assert len(line_slopes([], []).codes) == 0


def test_a_line_is_told_apart_by_five_things():
    assert LiftLine("a", "both", "slow", "gym", "").key == "a/both/slow/gym"
