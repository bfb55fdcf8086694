from decimal import Decimal

import pytest

from logs.analysis.facts import SegmentFact
from logs.analysis.matched import matched_comparison
from programs.prescription.tempo import parse_tempo
from tests.logs.analysis.lifted_sets import PULL_UP, SQUAT, lines_of, one_a_week


def matched(*weeks, body=Decimal(0), exercise=SQUAT, **more):
    sets = one_a_week(weeks, exercise, load_kg=Decimal(80))
    ((line, sessions),) = lines_of(*sets, body=lambda _one: body).items()
    return matched_comparison(sessions, line.tempo_class, **more)


def at(reps, reserve=2, **more):
    left = None if reserve is None else Decimal(reserve)
    return {"reps": reps, "in_reserve": left, **more}


def test_more_repetitions_at_one_load_are_told_with_the_counts():
    found = matched([at(6)], [at(7)], [at(7)], [at(8)], [at(8)])
    assert found.sentence == (
        "80 kg: 8 repetitions at 2 in reserve, against a median of 7 at 2 in reserve over the last 3 times: "
        "1 repetition more."
    )
    assert (found.basis, found.n, found.direction) == ("same_load", 3, "more")


def test_only_the_last_three_times_count():
    found = matched([at(12, 0)], [at(5)], [at(6)], [at(7)], [at(6)])
    assert (found.n, found.median_repetitions, found.direction) == (3, Decimal(6), "same")
    assert [one.repetitions for one in found.earlier] == [7, 6, 5]


def test_a_repetition_more_with_one_fewer_in_reserve_is_no_more_in_all():
    found = matched([at(7, 2)], [at(8, 1)])
    assert found.direction == "same"
    assert found.sentence == (
        "80 kg: 8 repetitions at 1 in reserve, against 7 at 2 in reserve the last time: "
        "1 repetition more with 1 fewer in reserve, the same in all."
    )


def test_the_same_repetitions_with_more_in_reserve_are_more():
    found = matched([at(7, 1)], [at(7, 1)], [at(7, 3)])
    assert found.direction == "more"
    assert found.sentence.endswith("over the last 2 times: the same repetitions with 2 more in reserve.")


def test_unknown_effort_is_said_and_repetitions_stand_alone():
    found = matched([at(7, None)], [at(8)])
    assert (found.direction, found.median_in_reserve) == ("more", None)
    assert found.sentence == (
        "80 kg: 8 repetitions, against 7 the last time: 1 repetition more; effort is not known each time."
    )


def test_loads_within_a_percent_are_one_load_and_beyond_it_not():
    assert matched([at(7)], [at(8, load_kg=Decimal("80.8"))]).basis == "same_load"
    assert matched([at(7)], [at(8, load_kg=Decimal("80.9"))]).basis == "none"


def test_the_heaviest_load_that_was_lifted_before_is_compared():
    found = matched(
        [at(5, load_kg=Decimal(100)), at(8)],
        [at(3, load_kg=Decimal(105)), at(6, load_kg=Decimal(100)), at(9)],
    )
    assert found.sentence.startswith("100 kg: 6 repetitions")


def test_the_best_set_of_each_session_is_compared():
    found = matched([at(8, 1), at(7, 1), at(6, 1)], [at(7, 1), at(8, 2)])
    assert found.sentence.startswith("80 kg: 8 repetitions at 2 in reserve, against 8 at 1 in reserve the last time")


def test_at_a_load_never_lifted_the_same_repetitions_and_effort_are_compared_by_load():
    found = matched([at(5, load_kg=Decimal(78))], [at(5)], [at(5)], [at(5, load_kg=Decimal("82.5"))])
    assert found.basis == "same_repetitions"
    assert found.sentence == (
        "5 repetitions at 2 in reserve: 82.5 kg, against a median of 80 kg over the last 3 times: 2.5 kg more (3.12 %)."
    )
    assert (found.direction, found.median_load_kg) == ("more", Decimal(80))


def test_less_load_at_the_same_repetitions_is_said_so():
    assert matched([at(5)], [at(5, load_kg=Decimal(70))]).sentence.endswith(": 10 kg less (12.5 %).")


@pytest.mark.parametrize(
    ("weeks", "reason"), [(([at(7)],), "first_time"), (([at(7)], [at(5, load_kg=Decimal(100))]), "nothing_alike")]
)
def test_with_nothing_alike_the_reason_is_told(weeks, reason):
    found = matched(*weeks)
    assert (found.basis, found.reason, found.direction, found.n) == ("none", reason, "unknown", 0)
    assert found.latest is not None


def test_without_sessions_there_is_nothing_to_compare():
    assert matched_comparison((), "standard").reason == "no_sets"


def test_a_tempo_that_all_sets_share_is_named_and_else_its_class():
    slow, slower = (parse_tempo(text) for text in ("41X1", "6020"))
    words = {"tempo_class": "slow"}
    assert matched([at(7, tempo=slow, **words)], [at(8, tempo=slow, **words)]).sentence.startswith("80 kg at 41X1: 8")
    assert matched([at(7, tempo=slower, **words)], [at(8, tempo=slow, **words)]).sentence.startswith(
        "80 kg at a slow tempo: 8"
    )


@pytest.mark.parametrize(
    ("load_kg", "words"),
    [("0", "bodyweight: 8"), ("10", "bodyweight + 10 kg: 8"), ("-20", "bodyweight with 20 kg of help: 8")],
)
def test_loads_added_to_the_body_are_named_so(load_kg, words):
    load = {"load_kg": Decimal(load_kg), "load_basis": "added"}
    found = matched([at(7, **load)], [at(8, **load)], exercise=PULL_UP, body=Decimal(76))
    assert found.sentence.startswith(words)


def test_words_are_in_the_clients_unit():
    load = {"load_kg": Decimal("61.2349699500")}
    assert matched([at(7, **load)], [at(8, **load)], unit="lb").sentence.startswith("135 lb: 8 repetitions")


def test_loads_of_unlike_bases_are_never_compared():
    assert matched([at(7, load_basis="each_hand")], [at(8, load_basis="total")]).reason == "nothing_alike"


def test_what_is_more_in_all_is_what_the_two_medians_named_add_up_to():
    # Medians of 5 and 0, though the median of their sums is 8.
    found = matched([at(5, 3)], [at(8, 0)], [at(5, 0)], [at(6, 0)])
    assert found.sentence.endswith("a median of 5 at 0 in reserve over the last 3 times: 1 repetition more.")
    assert found.direction == "more"


def test_the_first_part_of_a_cluster_is_never_held_against_a_straight_set():
    cluster = {"kind": "cluster", "segments": (SegmentFact(reps=2), SegmentFact(reps=2), SegmentFact(reps=2))}
    assert matched([at(6)], [at(None, **cluster)]).reason == "nothing_alike"
    assert matched([at(None, **cluster)], [at(6)]).reason == "nothing_alike"
    assert matched([at(None, **cluster)], [at(None, **cluster)]).direction == "same"
    assert matched([at(6)], [at(6, kind="top")]).direction == "same"
