import random
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal, localcontext

import pytest

from logs.analysis.facts import (
    CheckInFact,
    FactsError,
    LiftedExercise,
    PlannedFact,
    SegmentFact,
    SessionFact,
    SetFact,
    WeekFacts,
    WeighIn,
)
from logs.analysis.weekly import WeekPolicy, session_minutes, weekly_figures

MONDAY = date(2031, 3, 3)
SQUAT = LiftedExercise(
    key="back-squat", primary_muscles=("quadriceps", "glutes"), secondary_muscles=("adductors",), loading="barbell"
)
BENCH = LiftedExercise(
    key="bench-press", primary_muscles=("chest",), secondary_muscles=("triceps", "front_delts"), loading="barbell"
)
PULL_UP = LiftedExercise(
    key="pull-up",
    primary_muscles=("lats",),
    secondary_muscles=("biceps",),
    loading="bodyweight",
    bodyweight_share=Decimal("0.95"),
)
CHIN_UP = LiftedExercise(key="chin-up", primary_muscles=("lats",), restful_end="lengthened")
LUNGE = LiftedExercise(key="walking-lunge", primary_muscles=("quadriceps",), loading="dumbbell_pair")
BAND_ROW = LiftedExercise(key="band-row", primary_muscles=("upper_back",), loading="band")


def on(offset):
    return MONDAY + timedelta(days=offset)


def one(exercise=SQUAT, number=1, *, day=0, session="s1", **changes):
    facts = {"reps": 5, "load_kg": Decimal(100), "in_reserve": Decimal(2), "tempo_class": "standard"}
    return SetFact(session_id=session, local_date=on(day), exercise=exercise, set_number=number, **(facts | changes))


def week(**facts):
    return weekly_figures(WeekFacts(week_start=MONDAY, **facts))


def of_sets(*sets, **facts):
    return week(sets=sets, **facts)


def session(day=0, name="s1", **changes):
    facts = {"session_rpe": Decimal(7), "duration_min": Decimal(50)}
    return SessionFact(session_id=name, local_date=on(day), **(facts | changes))


def planned(day=0, state="done", **changes):
    return PlannedFact(local_date=on(day), state=state, **changes)


class TestSets:
    def test_work_sets_are_counted_summed_and_moved(self):
        figures = of_sets(one(number=1), one(number=2), one(number=3, reps=4))
        assert (figures.work_sets, figures.hard_sets, figures.reps) == (3, 3, 14)
        assert figures.tonnage_kg == Decimal(1400)

    @pytest.mark.parametrize(
        "changes", [{"kind": "warm_up"}, {"kind": "ramp"}, {"kind": "technique"}, {"outcome": "skipped"}]
    )
    def test_sets_that_do_not_count_count_in_nothing(self, changes):
        assert of_sets(one(**changes)) == week()

    def test_a_failed_set_counts_what_was_done_and_was_hard(self):
        figures = of_sets(one(outcome="failed", reps=3, in_reserve=None))
        assert (figures.reps, figures.hard_sets, figures.unknown_effort_sets) == (3, 1, 0)

    def test_a_set_to_the_limit_needs_no_effort_said(self):
        assert of_sets(one(kind="to_limit", in_reserve=None)).hard_sets == 1

    @pytest.mark.parametrize(
        ("effort", "hard", "unknown"),
        [
            ({"in_reserve": Decimal(4)}, 1, 0),
            ({"in_reserve": Decimal("4.5")}, 0, 0),
            ({"in_reserve": None, "rpe": Decimal(6)}, 1, 0),
            ({"in_reserve": None, "rpe": Decimal("5.5")}, 0, 0),
            ({"in_reserve": None}, 0, 1),
        ],
    )
    def test_a_set_is_hard_at_four_or_fewer_in_reserve(self, effort, hard, unknown):
        figures = of_sets(one(**effort))
        assert (figures.work_sets, figures.hard_sets, figures.unknown_effort_sets) == (1, hard, unknown)

    def test_three_of_ten_a_side_are_three_hard_sets_and_sixty_repetitions(self):
        sides = [one(LUNGE, number, side=side, reps=10) for number in (1, 2, 3) for side in ("left", "right")]
        figures = of_sets(*sides)
        assert (figures.work_sets, figures.hard_sets, figures.reps) == (3, 3, 60)
        assert figures.muscle_sets["quadriceps"].total == 3

    def test_a_set_is_unknown_only_if_neither_side_said_an_effort(self):
        figures = of_sets(
            one(LUNGE, 1, side="left"),
            one(LUNGE, 1, side="right", in_reserve=None),
            one(LUNGE, 2, side="left", in_reserve=None),
            one(LUNGE, 2, side="right", in_reserve=None),
        )
        assert (figures.work_sets, figures.hard_sets, figures.unknown_effort_sets) == (2, 1, 1)

    def test_the_same_number_in_another_slot_or_session_is_another_set(self):
        figures = of_sets(one(slot_key="A1"), one(slot_key="B1"), one(session="s2"))
        assert figures.work_sets == 3

    def test_muscles_are_counted_direct_half_and_whole(self):
        figures = of_sets(*(one(BENCH, number) for number in range(1, 5)), one(SQUAT), one(SQUAT, 2, in_reserve=None))
        triceps, chest = figures.muscle_sets["triceps"], figures.muscle_sets["chest"]
        assert (triceps.direct, triceps.fractional, triceps.total) == (0, Decimal("2.0"), 4)
        assert (chest.direct, chest.fractional, chest.total) == (4, 4, 4)
        assert figures.muscle_sets["adductors"].fractional == Decimal("0.5")

    def test_mean_effort_reads_reserve_as_exertion(self):
        figures = of_sets(
            one(in_reserve=None, rpe=Decimal("8.5")),
            one(number=2, in_reserve=Decimal(1)),
            one(number=3, in_reserve=None, rpe=Decimal(8)),
            one(number=4, in_reserve=None),
        )
        assert figures.mean_effort == Decimal("8.5")
        assert week().mean_effort is None


class TestTonnage:
    @pytest.mark.parametrize(
        ("changes", "expected"),
        [
            ({"load_basis": "total"}, 500),
            ({"load_basis": "each_hand"}, 1000),
            ({"load_basis": "each_hand", "side": "left"}, 500),
            ({"load_basis": "stack_label", "machine": "north cable"}, 500),
            ({"segments": (SegmentFact(reps=3), SegmentFact(reps=2, load_kg=Decimal(80)))}, 460),
        ],
    )
    def test_what_is_moved_follows_from_what_the_load_means(self, changes, expected):
        assert of_sets(one(**changes)).tonnage_kg == expected

    def test_added_load_moves_the_body_too(self):
        pull_up = one(PULL_UP, load_basis="added", load_kg=Decimal(10))
        assert of_sets(
            pull_up, check_ins=(CheckInFact(local_date=MONDAY, bodyweight_kg=Decimal(80)),)
        ).tonnage_kg == 5 * (10 + 76)

    def test_assistance_takes_from_the_body_and_bare_bodyweight_adds_nothing(self):
        weighed = (CheckInFact(local_date=MONDAY, bodyweight_kg=Decimal(80)),)
        assisted = one(PULL_UP, load_basis="added", load_kg=Decimal(-26))
        bare = one(PULL_UP, 2, load_basis="added", load_kg=None)
        assert of_sets(assisted, bare, check_ins=weighed).tonnage_kg == 5 * 50 + 5 * 76

    def test_more_help_than_the_body_weighs_moves_nothing_never_less(self):
        weighed = (CheckInFact(local_date=MONDAY, bodyweight_kg=Decimal(80)),)
        helped = one(PULL_UP, load_basis="added", load_kg=Decimal(-90))
        bare = one(PULL_UP, 2, load_basis="added", load_kg=None)
        assert of_sets(helped, bare, check_ins=weighed).tonnage_kg == 5 * 76

    @pytest.mark.parametrize(("age_days", "known"), [(28, True), (29, False)])
    def test_bodyweight_is_known_for_four_weeks(self, age_days, known):
        earlier = (WeighIn(local_date=on(-age_days), bodyweight_kg=Decimal(80)),)
        figures = of_sets(one(PULL_UP, load_basis="added"), earlier_weigh_ins=earlier)
        assert figures.unknown_load_sets == (0 if known else 1)
        assert (figures.tonnage_kg > 0) is known

    def test_the_latest_weigh_in_on_or_before_the_set_counts_and_one_day_has_one_mean(self):
        check_ins = (
            CheckInFact(local_date=on(1), bodyweight_kg=Decimal(80)),
            CheckInFact(local_date=on(1), bodyweight_kg=Decimal(82)),
            CheckInFact(local_date=on(4), bodyweight_kg=Decimal(90)),
        )
        figures = of_sets(one(PULL_UP, day=3, load_basis="added", load_kg=Decimal(0), reps=1), check_ins=check_ins)
        assert figures.tonnage_kg == Decimal("76.95")

    @pytest.mark.parametrize("exercise", [SQUAT, BAND_ROW])
    def test_a_set_without_a_load_is_counted_as_unknown_and_moves_nothing(self, exercise):
        figures = of_sets(one(exercise, load_kg=None), one(exercise, 2))
        assert (figures.unknown_load_sets, figures.tonnage_kg, figures.reps) == (1, 500, 10)

    def test_a_band_is_no_known_load_even_where_the_body_moves(self):
        banded = LiftedExercise(key="band-pull-up", loading="band", bodyweight_share=Decimal(1))
        weighed = (CheckInFact(local_date=MONDAY, bodyweight_kg=Decimal(80)),)
        figures = of_sets(one(banded, load_basis="added", load_kg=None), check_ins=weighed)
        assert (figures.unknown_load_sets, figures.tonnage_kg) == (1, 0)

    def test_a_hold_has_no_tonnage_and_no_unknown_load(self):
        figures = of_sets(one(reps=None, load_kg=None))
        assert (figures.tonnage_kg, figures.unknown_load_sets, figures.work_sets) == (0, 0, 1)

    def test_pounds_stay_exact(self):
        assert of_sets(one(load_kg=Decimal("102.05828325"), reps=3)).tonnage_kg == Decimal("306.17484975")


class TestLifts:
    def test_a_weeks_value_is_the_median_of_the_sessions_bests(self):
        figures = of_sets(
            one(reps=5, in_reserve=Decimal(0), session="s1"),
            one(reps=3, in_reserve=Decimal(0), session="s1", number=2),
            one(reps=8, in_reserve=Decimal(0), session="s2", day=2),
        )
        line = figures.lift_values["back-squat/both/standard"]
        # 116.666667 and 126.666667.
        assert (line.value_kg, line.sessions, line.formula) == (Decimal("121.666667"), 2, "epley")

    def test_sides_machines_and_tempo_classes_are_lines_of_their_own(self):
        figures = of_sets(
            one(),
            one(number=2, tempo_class="slow"),
            one(LUNGE, side="left"),
            one(LUNGE, side="right"),
            one(BENCH, machine="west press 2", load_basis="stack_label"),
        )
        assert list(figures.lift_values) == [
            "back-squat/both/slow",
            "back-squat/both/standard",
            "bench-press/both/standard//west press 2",
            "walking-lunge/left/standard",
            "walking-lunge/right/standard",
        ]

    @pytest.mark.parametrize(
        "changes",
        [
            {"tempo_class": "assisted"},
            {"in_reserve": None},
            {"in_reserve": Decimal(4)},
            {"reps": 11, "in_reserve": Decimal(0)},
            {"reps": None},
            {"load_kg": None},
            {"kind": "warm_up"},
            {"load_basis": "added", "exercise": PULL_UP},
        ],
    )
    def test_sets_of_which_no_good_estimate_is_made_enter_no_line(self, changes):
        assert of_sets(one(**changes)).lift_values == {}

    def test_the_first_segment_alone_makes_the_estimate(self):
        segments = (SegmentFact(reps=5), SegmentFact(reps=5, load_kg=Decimal(80)))
        figures = of_sets(one(segments=segments, reps=10, in_reserve=Decimal(0)))
        assert figures.lift_values["back-squat/both/standard"].value_kg == Decimal("116.666667")
        assert (figures.reps, figures.hard_sets) == (10, 1)

    def test_an_added_load_is_estimated_with_the_body_and_told_without_it(self):
        weighed = (CheckInFact(local_date=MONDAY, bodyweight_kg=Decimal(80)),)
        pull_up = one(PULL_UP, load_basis="added", load_kg=Decimal(14), in_reserve=Decimal(0), reps=3)
        line = of_sets(pull_up, check_ins=weighed).lift_values["pull-up/both/standard"]
        assert line.value_kg == Decimal(90) * Decimal("1.1") - 76

    def test_the_businesss_formula_holds_for_every_line(self):
        facts = WeekFacts(week_start=MONDAY, sets=(one(in_reserve=Decimal(0)),))
        line = weekly_figures(facts, WeekPolicy(formula="brzycki")).lift_values["back-squat/both/standard"]
        assert (line.value_kg, line.formula) == (Decimal("112.5"), "brzycki")


class TestSessionLoad:
    def test_a_week_of_known_days(self):
        loads = [(6, 60, 0), (7, 50, 2), (5, 40, 4), (8, 75, 5)]
        sessions = [session(day, f"s{day}", session_rpe=Decimal(r), duration_min=Decimal(m)) for r, m, day in loads]
        figures = week(sessions=tuple(sessions))
        assert (figures.session_load, figures.days_unknown) == (1510, 0)
        assert (figures.monotony, figures.strain) == (Decimal("0.924908"), Decimal("1396.610856"))
        assert figures.monotony_reason == ""

    def test_two_sessions_of_a_day_are_summed_first(self):
        figures = week(sessions=(session(0, "am"), session(0, "pm")))
        assert figures.monotony == Decimal("0.377964")

    @pytest.mark.parametrize("state", ["planned", "missed"])
    def test_a_planned_day_without_a_log_is_unknown(self, state):
        figures = week(sessions=(session(0),), planned=(planned(0), planned(2, state)))
        assert (figures.session_load, figures.days_unknown) == (350, 1)
        assert (figures.monotony, figures.strain, figures.monotony_reason) == (None, None, "unknown_days")

    @pytest.mark.parametrize("state", ["done", "excused", "paused", "done_late"])
    def test_a_planned_day_that_was_settled_otherwise_is_rest(self, state):
        assert week(sessions=(session(0),), planned=(planned(2, state),)).days_unknown == 0

    def test_a_session_without_a_rating_makes_its_day_unknown(self):
        figures = week(sessions=(session(0, session_rpe=None), session(0, "s2")))
        assert (figures.session_load, figures.days_unknown) == (350, 1)

    def test_weeks_of_rest_and_of_equal_days_say_why_there_is_no_monotony(self):
        assert week().monotony_reason == "all_rest"
        equal = week(sessions=tuple(session(day, f"s{day}") for day in range(7)))
        assert (equal.monotony_reason, equal.session_load) == ("zero_variance", 2450)

    @pytest.mark.parametrize(
        ("changes", "expected"),
        [
            ({}, "50"),
            ({"started_at": "07:00", "finished_at": "09:00"}, "50"),
            ({"duration_min": None, "started_at": "07:02:00", "finished_at": "07:48:10"}, "46.17"),
            ({"duration_min": None, "started_at": "07:02"}, None),
            ({"duration_min": None, "started_at": "07:48", "finished_at": "07:02"}, None),
            ({"duration_min": Decimal(180)}, "180"),
            ({"duration_min": Decimal("180.01")}, None),
            ({"duration_min": Decimal(200), "minutes_confirmed": True}, "200"),
            ({"duration_min": Decimal(91), "planned_high_min": Decimal("45.5")}, "91"),
            ({"duration_min": Decimal("91.01"), "planned_high_min": Decimal("45.5")}, None),
        ],
    )
    def test_declared_minutes_come_before_the_clock_and_long_ones_wait_for_a_word(self, changes, expected):
        clock = {
            name: datetime.fromisoformat(f"2031-03-03T{value}+01:00").astimezone(UTC)
            for name, value in changes.items()
            if isinstance(value, str)
        }
        minutes = session_minutes(session(**(changes | clock)))
        assert minutes == (None if expected is None else Decimal(expected))


class TestAdherence:
    def test_sessions_are_counted_by_state_and_excused_ones_left_out(self):
        figures = week(
            planned=(
                planned(0, "done"),
                planned(1, "done_late"),
                planned(2, "part_done", planned_work_sets=3, done_work_sets=1),
                planned(3, "missed"),
                planned(4, "excused"),
                planned(5, "paused"),
                planned(6, "started"),
            )
        )
        assert (
            figures.sessions_planned,
            figures.sessions_done,
            figures.sessions_done_late,
            figures.sessions_part_done,
            figures.sessions_missed,
            figures.sessions_excused,
        ) == (5, 1, 1, 1, 1, 2)
        # Two whole sessions and a third of one, of five.
        assert figures.adherence_sessions == Decimal("0.466667")

    def test_nine_of_twelve_are_three_quarters(self):
        facts = tuple(planned(index % 7, "done" if index < 9 else "missed") for index in range(12))
        assert week(planned=facts).adherence_sessions == Decimal("0.75")

    def test_more_sets_than_planned_are_no_more_than_done(self):
        facts = (planned(0, "part_done", planned_work_sets=3, done_work_sets=9),)
        assert week(planned=facts).adherence_sessions == 1

    def test_a_week_with_nothing_but_excused_sessions_has_no_adherence(self):
        assert week(planned=(planned(0, "excused"),)).adherence_sessions is None

    def test_a_week_that_holds_deload_sessions_is_a_deload_week(self):
        assert week(planned=(planned(0), planned(1, deload=True))).deload
        assert not week(planned=(planned(0),)).deload


class TestCheckIns:
    def test_means_are_over_the_answers_given(self):
        figures = week(
            check_ins=(
                CheckInFact(local_date=on(0), sleep=3, fatigue=4, bodyweight_kg=Decimal("81.4")),
                CheckInFact(local_date=on(2), sleep=4, soreness=7, bodyweight_kg=Decimal("81.5")),
                CheckInFact(local_date=on(3), sleep=4),
            )
        )
        assert figures.mean_sleep == Decimal("3.666667")
        assert (figures.mean_fatigue, figures.mean_soreness, figures.mean_stress) == (4, 7, None)
        assert figures.mean_bodyweight_kg == Decimal("81.45")

    def test_earlier_weigh_ins_are_no_part_of_the_weeks_mean(self):
        earlier = (WeighIn(local_date=on(-1), bodyweight_kg=Decimal(80)),)
        assert week(earlier_weigh_ins=earlier).mean_bodyweight_kg is None


def a_full_week():
    draw = random.Random(20310303)
    sets = [
        one(
            draw.choice((SQUAT, BENCH, PULL_UP, LUNGE)),
            draw.randint(1, 5),
            day=draw.randint(0, 6),
            session=f"s{draw.randint(0, 4)}",
            reps=draw.randint(1, 12),
            side=draw.choice(("both", "left", "right")),
            load_basis=draw.choice(("total", "added", "each_hand")),
            load_kg=Decimal(draw.randint(1, 4000)) * Decimal("0.45359237"),
            in_reserve=draw.choice((None, Decimal(1), Decimal("2.5"), Decimal(5))),
        )
        for _ in range(60)
    ]
    sessions = [session(day, f"s{day}", duration_min=Decimal(draw.randint(2000, 9000)) / 100) for day in range(5)]
    check_ins = [
        CheckInFact(local_date=on(day), sleep=draw.randint(1, 7), bodyweight_kg=Decimal("80.1")) for day in range(7)
    ]
    return sets, sessions, check_ins


def test_the_order_of_facts_changes_no_digit():
    sets, sessions, check_ins = a_full_week()
    first = week(sets=tuple(sets), sessions=tuple(sessions), check_ins=tuple(check_ins))
    draw = random.Random(7)
    for facts in (sets, sessions, check_ins):
        draw.shuffle(facts)
    assert week(sets=tuple(sets), sessions=tuple(sessions), check_ins=tuple(check_ins)) == first


def test_the_callers_decimal_context_changes_no_digit():
    sets, sessions, check_ins = a_full_week()
    facts = {"sets": tuple(sets), "sessions": tuple(sessions), "check_ins": tuple(check_ins)}
    first = week(**facts)
    with localcontext(prec=4):
        assert week(**facts) == first


@pytest.mark.parametrize(
    "facts",
    [
        {"sets": (one(day=7),)},
        {"sessions": (session(-1),)},
        {"planned": (planned(7),)},
        {"check_ins": (CheckInFact(local_date=on(-1)),)},
        {"earlier_weigh_ins": (WeighIn(local_date=on(0), bodyweight_kg=Decimal(80)),)},
    ],
)
def test_facts_of_another_week_are_refused(facts):
    with pytest.raises(FactsError):
        WeekFacts(week_start=MONDAY, **facts)
