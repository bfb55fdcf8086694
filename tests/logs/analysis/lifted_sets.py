"""Sets of lifts for the tests of lines, comparisons and records."""

from datetime import date, timedelta
from decimal import Decimal

from logs.analysis.facts import LiftedExercise, SetFact
from logs.analysis.lift_lines import lift_sessions

MONDAY = date(2031, 3, 3)
SQUAT = LiftedExercise(key="back-squat", loading="barbell")
PULL_UP = LiftedExercise(key="pull-up", loading="bodyweight", bodyweight_share=Decimal("0.95"))
LEG_PRESS = LiftedExercise(key="leg-press", loading="plate_machine")


def one(exercise=SQUAT, number=1, *, week=0, session="s1", **changes):
    facts = {"reps": 5, "load_kg": Decimal(100), "in_reserve": Decimal(2), "tempo_class": "standard"}
    day = MONDAY + timedelta(days=7 * week)
    return SetFact(session_id=session, local_date=day, exercise=exercise, set_number=number, **(facts | changes))


def no_body(_one):
    return Decimal(0)


def one_a_week(weeks, exercise=SQUAT, **usual):
    """One session a week; each week a list of what differs of its sets."""
    return [
        one(exercise, number, week=week, session=f"s{week}", **(usual | changes))
        for week, session in enumerate(weeks)
        for number, changes in enumerate(session, start=1)
    ]


def lines_of(*sets, body=no_body, formula="epley"):
    return lift_sessions(sets, body, formula)
