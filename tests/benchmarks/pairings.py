"""CPU time of working out pairings, against its budget: `python -m tests.benchmarks.pairings`."""

import time
from statistics import median

from programs.prescription.pairings import PlannedExercise, best_pairings
from programs.prescription.structure import ExerciseFacts, SetGroup, Slot
from tests.benchmarks.ratios import Ratio, table

BUDGET_S = 0.200
MUSCLES = ("quadriceps", "chest", "lats", "hamstrings", "side_delts", "biceps", "abdominals", "calves")
PATTERNS = ("squat", "horizontal_push", "vertical_pull", "hinge", "shoulder_isolation", "elbow_flexion")


def exercises(count: int) -> list[PlannedExercise]:
    """Exercises of unlike muscles and stations, so that almost every block is allowed and has to be weighed."""
    found = []
    for number in range(count):
        key = f"lift-{number}"
        facts = ExerciseFacts(
            key=key,
            name=key,
            pattern=PATTERNS[number % len(PATTERNS)],
            primary_muscles=(MUSCLES[number % len(MUSCLES)],),
            station=key,
        )
        goal = "strength" if number < count // 2 else "size"
        sets = (SetGroup(count=4 if goal == "strength" else 3, reps_low=5, reps_high=8),)
        found.append(PlannedExercise(slot=Slot(slot_key="x", exercise=key, goal=goal, sets=sets), facts=facts))
    return found


def cpu_s(count: int, minutes: int | None) -> float:
    """Median CPU seconds of seven runs."""
    listed, runs = exercises(count), []
    for _ in range(7):
        start = time.process_time()
        best_pairings(listed, minutes)
        runs.append(time.process_time() - start)
    return median(runs)


def measure() -> list[Ratio]:
    """Each case's share of the budget; only 8 exercises have one, the others are told beside it."""
    results = []
    for count, minutes, target in ((8, None, 1.0), (8, 40, 1.0), (12, None, 5.0), (12, 60, 5.0)):
        spent_s = cpu_s(count, minutes)
        share = spent_s / BUDGET_S
        results.append(
            Ratio(
                path=f"pairings of {count}" + (f", cut to {minutes} min" if minutes else ""),
                ours=f"{spent_s * 1000:.0f} ms CPU",
                baseline=f"{BUDGET_S * 1000:.0f} ms",
                ratio=share,
                target=target,
                spread=(share, share),
                at_most=True,
            )
        )
    return results


if __name__ == "__main__":
    print(table(measure()))  # noqa: T201 -- a benchmark's output is its point
