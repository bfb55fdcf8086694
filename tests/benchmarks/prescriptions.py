"""CPU time of a session's timeline and of its whole analysis.

A session of two pairs and a block of most rounds, over the shared catalogue. Times are of the processor, since
nothing is waited for.
"""

from collections.abc import Callable
from statistics import median
from time import process_time

from programs.catalogue.entries import load_entries
from programs.prescription.analysis import analyse_session
from programs.prescription.notation import parse_session
from programs.prescription.structure import Day, Session, VersionContent, Week
from programs.prescription.timeline import simulate
from programs.prescription.version_analysis import analyse_version
from tests.benchmarks.ratios import Ratio
from tests.programs.prescription.catalogue_cast import catalogue

RUNS = 101
SIMULATED_MS = 1.0
WEEKS = 12
DAYS = 3
TEXT = """A1. Bench press  4 x 6-8 @ 41X1, RPE 8, rest 90s
A2. Pull-up  4 x 5 @ 31X2, rest 90s
B1. Split squat  3 x 10/side @ 3010, 2 x 24 kg, rest 60s
B2. Dumbbell curl  3 x 10 @ 3110, rest 60s
C. 12 min max rounds: 2 get-up/side, 12 sit-up, 10 ring row; entry: row 2:00"""


def measure() -> list[Ratio]:
    """Measure the timeline, the session's analysis against it, and a long version's against its sessions'."""
    read = parse_session(TEXT, load_entries())
    if read.has_errors:
        raise RuntimeError(f"The text was not read: {read.faults}")
    session, known = read.session, catalogue()
    content = _version(session)
    days = WEEKS * DAYS
    return [
        _against_allowance(lambda: simulate(session, known)),
        _against(
            "a session analysed against its timeline alone",
            lambda: analyse_session(session, known),
            lambda: simulate(session, known),
            target=4.0,
        ),
        _against(
            f"a version of {WEEKS} weeks analysed, per session, against one session's analysis",
            lambda: analyse_version(content, known),
            lambda: analyse_session(session, known),
            target=1.5,
            times=days,
        ),
    ]


def _version(session: Session) -> VersionContent:
    days = tuple(Day(day_number=number, session=session) for number in range(1, DAYS + 1))
    return VersionContent(weeks=tuple(Week(week_number=number, days=days) for number in range(1, WEEKS + 1)))


def _against_allowance(work: Callable[[], object]) -> Ratio:
    took = [_ms(work) for _ in range(RUNS)]
    return Ratio(
        path="a session of 3 blocks simulated",
        ours=f"{median(took):.2f} ms CPU",
        baseline=f"{SIMULATED_MS:.0f} ms",
        ratio=median(took) / SIMULATED_MS,
        target=1.0,
        spread=(min(took) / SIMULATED_MS, max(took) / SIMULATED_MS),
        at_most=True,
    )


def _against(
    path: str, work: Callable[[], object], baseline: Callable[[], object], *, target: float, times: int = 1
) -> Ratio:
    runs = RUNS if times == 1 else 9
    pairs = [(_ms(work), _ms(baseline) * times) for _ in range(runs)]
    ratios = [ours / theirs for ours, theirs in pairs]
    shown = f"{times} x " if times > 1 else ""
    return Ratio(
        path=path,
        ours=f"{median(ours for ours, _ in pairs):.2f} ms CPU",
        baseline=f"{shown}{median(theirs for _, theirs in pairs) / times:.2f} ms",
        ratio=median(ratios),
        target=target,
        spread=(min(ratios), max(ratios)),
        at_most=True,
    )


def _ms(run: Callable[[], object]) -> float:
    start = process_time()
    run()
    return (process_time() - start) * 1000
