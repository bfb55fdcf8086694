"""A set's tempo as performed, beside the tempo asked."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from logs.analysis.asked_sets import asked_slots, tempo_of
from logs.analysis.performed_tempo import PHASES, PerformedSet, judge_tempo
from logs.analysis.tempo_counts import JudgedSet, tempo_counts, weekly_tempo
from logs.analysis.tempo_trend import tempo_sentences, tempo_trend
from logs.analysis.time_under_tension import set_tension, tension_total
from programs.prescription.tempo import parse_tempo

MONDAY = date(2031, 1, 6)


def performed(text, *seconds, restful_end="none", **more):
    measured = {phase: Decimal(s) for phase, s in zip(PHASES, seconds, strict=False) if s is not None}
    tempo = parse_tempo(text) if text else None
    return PerformedSet(tempo=tempo, restful_end=restful_end, phase_s=measured, **more)


def faults(*args, **more):
    return judge_tempo(performed(*args, **more)).faults


# The top of a squat rests the legs: the pause in the hole works, the pause on top rests.
@pytest.mark.parametrize(
    ("seconds", "found"),
    [
        (("4", "1", "1", "1"), ()),
        (("3", "1", "1", "1"), ()),
        (("2.99", "1", "1", "1"), ("rushed_eccentric",)),
        (("6", "1", "1", "1"), ()),
        (("4", "0.5", "1", "1"), ()),
        (("4", "0.49", "1", "1"), ("rushed_pause",)),
        (("4", "3", "1", "1"), ()),
        (("4", "1", "1", "1.5"), ()),
        (("4", "1", "1", "1.51"), ("lingered_pause",)),
        (("4", "1", "1", "0"), ()),
        (("2", "0.2", "1", "4"), ("rushed_eccentric", "rushed_pause", "lingered_pause")),
    ],
)
def test_a_squat_is_judged_by_eccentric_working_pause_and_restful_pause(seconds, found):
    assert faults("41X1", *seconds, restful_end="shortened") == found


def test_a_pull_up_rests_where_a_squat_works():
    seconds = ("3", "3", "1", "0.4")
    assert faults("31X1", *seconds, restful_end="lengthened") == ("rushed_pause", "lingered_pause")
    assert faults("31X1", *seconds, restful_end="shortened") == ()
    assert faults("31X1", *seconds) == ("rushed_pause",)


@pytest.mark.parametrize("concentric", ["0.1", "1", "2.5", "9"])
@pytest.mark.parametrize("tempo", ["3010", "30X0", "3040", "30A0"])
def test_the_concentric_is_never_a_fault_slow_or_fast(tempo, concentric):
    assert faults(tempo, "3", "0", concentric, "0") == ()


def test_rest_where_none_is_asked_is_told_and_is_no_fault():
    judgement = judge_tempo(performed("30X0", "3", "0", "1", "2", restful_end="shortened"))
    assert judgement.faults == ()
    assert [phase.phase for phase in judgement.phases if phase.unasked_rest] == ["shortened"]
    working = judge_tempo(performed("30X0", "3", "2", "1", "0", restful_end="shortened"))
    assert not any(phase.unasked_rest for phase in working.phases)


@pytest.mark.parametrize(
    ("one", "reason"),
    [
        (performed("", "3", "1", "1", "1"), "no_tempo"),
        (performed("31X1"), "not_measured"),
        (performed("31X1", None, None, "1"), "nothing_to_judge"),
        (performed("31X1", duration_s=Decimal(30)), "no_repetitions"),
        (performed("31X1", duration_s=Decimal(30), reps=5, both_sides=True), "both_sides_together"),
        (performed("31X1", duration_s=Decimal(30), reps=5, rests_inside=True), "rests_inside"),
    ],
)
def test_what_cannot_be_judged_says_why_and_is_neither_kept_nor_broken(one, reason):
    judgement = judge_tempo(one)
    assert (judgement.basis, judgement.reason, judgement.kept, judgement.faults) == ("none", reason, None, ())


# 31X1: 6 s with X as 1 s, 5 s without; tolerances 1.5 s and 1.25 s.
@pytest.mark.parametrize(
    ("seconds", "overall"), [("18.7", "shorter"), ("18.75", "as_meant"), ("37.5", "as_meant"), ("37.6", "longer")]
)
def test_a_duration_tells_shorter_or_longer_and_never_which_phase(seconds, overall):
    judgement = judge_tempo(performed("31X1", duration_s=Decimal(seconds), reps=5))
    assert (judgement.basis, judgement.overall, judgement.kept) == ("duration", overall, None)
    assert judgement.phases == ()


def test_measured_phases_go_before_the_duration():
    judgement = judge_tempo(performed("31X1", "3", "1", "1", "1", duration_s=Decimal(5), reps=5))
    assert (judgement.basis, judgement.overall, judgement.kept) == ("phases", None, True)


def test_one_measured_phase_is_enough_to_judge_it_but_not_the_repetition():
    one = performed("31X1", "1.5", reps=5)
    judgement = judge_tempo(one)
    assert judgement.faults == ("rushed_eccentric",)
    assert judgement.performed_repetition_s is None
    assert set_tension(one, judgement, None) is None
    timed = performed("31X1", "1.5", reps=5, duration_s=Decimal(22))
    assert set_tension(timed, judge_tempo(timed), None).performed_s == 22


def test_time_under_tension_is_meant_by_the_plan_and_reached_within_a_tenth():
    one = performed("4010", "4", "0", "1", "0", reps=7)
    planned = set_tension(one, judge_tempo(one), 8)
    assert (planned.meant_s, planned.performed_s, planned.meant_from) == (40, 35, "planned_repetitions")
    assert not planned.reached
    own = set_tension(one, judge_tempo(one), None)
    assert (own.meant_s, own.meant_from, own.reached) == (35, "done_repetitions", True)
    total = tension_total([planned, own, None])
    assert (total.sets, total.reached_sets, total.meant_s, total.performed_s) == (2, 1, 75, 70)
    assert (total.performed_ratio, total.reached) == (Decimal("0.933333"), True)
    assert (tension_total([None]).performed_ratio, tension_total([]).reached) == (None, None)


def week_of(number, faulty, kept, *, deload=False):
    bad = judge_tempo(performed("31X1", "1", "1", "1", "1"))
    good = judge_tempo(performed("31X1", "3", "1", "1", "1"))
    return [
        JudgedSet(exercise="back-squat", week_start=MONDAY + timedelta(weeks=number), judgement=one, deload=deload)
        for one in [bad] * faulty + [good] * kept
    ]


def trend_of(*weeks):
    return tempo_trend(weekly_tempo([one for week in weeks for one in week]))


def test_more_faults_every_week_are_a_rising_share():
    trend = trend_of(*(week_of(number, number, 10 - number) for number in range(8)))
    assert trend.direction == "rising"
    assert trend.per_week_pct == pytest.approx(10)
    assert (trend.earlier_faulty, trend.earlier_sets, trend.later_faulty, trend.later_sets) == (6, 40, 22, 40)
    assert "6 of 40 sets in the older half of the weeks, 22 of 40 in the newer" in trend.sentence
    assert trend_of(*(week_of(number, 8 - number, 2 + number) for number in range(8))).direction == "falling"


def test_a_share_that_comes_and_goes_is_undecided():
    assert trend_of(*(week_of(number, (3, 1)[number % 2], 7) for number in range(8))).direction == "undecided"


def test_under_six_weeks_no_trend_is_told_and_a_deload_week_is_none():
    weeks = [week_of(number, number, 10 - number) for number in range(5)]
    trend = trend_of(*weeks, week_of(5, 10, 0, deload=True))
    assert (trend.direction, trend.weeks, trend.per_week_pct) == ("not_enough_weeks", 5, None)


def test_sets_are_counted_by_what_is_known_of_them():
    ones = [
        performed("31X1", "1", "0.1", "1", "1"),
        performed("31X1", "3", "1", "1", "1"),
        performed("30X0", "3", "0", "1", "2", restful_end="shortened"),
        performed("31X1", duration_s=Decimal(10), reps=5),
        performed("31X1"),
        performed(""),
    ]
    sets = [JudgedSet(exercise="x", week_start=MONDAY, judgement=judge_tempo(one)) for one in ones]
    counts = tempo_counts(sets)
    assert (counts.sets_by_phases, counts.sets_by_duration, counts.sets_not_measured) == (3, 1, 1)
    assert (counts.sets_without_tempo, counts.faulty_sets, counts.unasked_rest_sets) == (1, 1, 1)
    assert counts.faults == {"rushed_eccentric": 1, "rushed_pause": 1, "lingered_pause": 0}
    assert (counts.shorter_sets, counts.longer_sets) == (1, 0)
    assert (counts.fault_rate, counts.measured_rate) == (Decimal("0.333333"), Decimal("0.6"))
    said = tempo_sentences(counts, tension_total([]), trend_of())
    assert said[0] == (
        "1 of 3 measured sets was off the tempo asked: the eccentric rushed in 1, a working pause rushed in 1."
    )
    assert "a duration does not tell" in said[1]
    assert "for the coach to say" in said[2]


def test_nothing_measured_says_nothing_of_phases():
    said = tempo_sentences(tempo_counts([]), tension_total([]), trend_of())
    assert said == ("No set was measured by phase, so nothing is said of rushed or lingered phases.",)


def _document(kind, **more):
    groups = [
        {"count": 1, "kind": "warm_up", "reps_low": 5},
        {"count": 2, "kind": "work", "reps_low": 6, "reps_high": 8, "tempo": "31X1"},
        {"count": 1, "kind": "cluster", "segments": [{"reps": 2}, {"reps": 2}], "tempo": "20X1"},
    ]
    return {"blocks": [{"kind": kind, "slots": [{"slot_key": "A1", "exercise": "x", "sets": groups}], **more}]}


def test_the_plan_asks_set_by_set_warm_ups_included():
    slot = asked_slots(_document("straight"))["A1"]
    asked = [slot.asked(number) for number in range(6)]
    assert [one and one.tempo and str(one.tempo) for one in asked] == [None, None, "31X1", "31X1", "20X1", None]
    assert (asked[2].reps_low, asked[2].reps_high, asked[4].reps_low) == (6, 8, 4)


def _rounds(kind, **more):
    slot = {"slot_key": "A1", "exercise": "x", "sets": [{"count": 1, "reps_low": 8, "tempo": "31X1"}]}
    return asked_slots({"blocks": [{"kind": kind, "slots": [slot], **more}]})["A1"]


def test_rounds_ask_the_same_again_and_end_where_the_plan_ends():
    five = _rounds("rounds_for_time", rounds=5)
    assert (str(five.asked(5).tempo), five.asked(6)) == ("31X1", None)
    assert str(_rounds("max_rounds", minutes=12).asked(42).tempo) == "31X1"


def test_an_unreadable_tempo_is_an_unknown_one():
    assert tempo_of("as you like") is None
    assert tempo_of("") is None


def test_one_set_in_one_week_is_said_in_the_singular():
    def judged(one):
        return [JudgedSet(exercise="x", week_start=MONDAY, judgement=judge_tempo(one))]

    kept = judged(performed("31X1", "3", "1", "1", "1"))
    assert tempo_sentences(tempo_counts(kept), tension_total([]), tempo_trend(weekly_tempo(kept))) == (
        "The one measured set kept the tempo asked.",
        "1 week with measured sets; under 6 no trend is told.",
    )
    untold = tempo_sentences(tempo_counts(judged(performed("31X1"))), tension_total([]), tempo_trend([]))
    assert untold[-1] == "1 set with a tempo was not measured."


def test_weeks_without_a_fault_are_said_so():
    assert trend_of(*[week_of(number, 0, 10) for number in range(7)]).sentence == (
        "Over 7 weeks no measured set was off the tempo asked."
    )
