"""Results of conditioning blocks: rounds, time, repetitions, metres and kilocalories, and how they compare.

Only blocks that ask for exactly the same are compared. A result is what was logged; what cannot be told from the logs
is said to be missing, never guessed.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from statistics import median
from typing import Final, Literal

from logs.analysis.conditioning_blocks import AskedBlock, Effort
from logs.analysis.constants import COMPARED_OCCURRENCES, EQUAL_WORK_RATIO
from logs.analysis.rounding import round_half_even_6

RoundsFrom = Literal["logged", "counted_sets"]
Measure = Literal["rounds", "time_s", "repetitions", "metres", "kilocalories"]

_MEASURE_WORDS: Final[Mapping[Measure, str]] = {
    "rounds": "rounds",
    "time_s": "s",
    "repetitions": "repetitions",
    "metres": "m",
    "kilocalories": "kcal",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockResult:
    """What a conditioning block came to once.

    Attributes:
        local_date: When it was done.
        deload: It belongs to a planned deload week.
        rounds: Whole and part rounds as logged, else whole rounds counted off the sets; None when neither says.
        rounds_from: Where the rounds come from.
        time_s: The time of rounds for time, from the row that carries the rounds; None when none does.
        finished: Whether rounds for time were all done; None for other kinds, or when the rounds are not known.
        repetitions: Repetitions over its sets.
        metres: Metres over its sets.
        kilocalories: Kilocalories over its sets.
        missing: What could not be told, in words; empty when nothing is missing.
    """

    local_date: date
    deload: bool
    rounds: Decimal | None
    rounds_from: RoundsFrom | None
    time_s: Decimal | None
    finished: bool | None
    repetitions: int
    metres: Decimal
    kilocalories: Decimal
    missing: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultComparison:
    """The latest result of a block against the earlier ones of the same block.

    Attributes:
        measure: What was compared; None when nothing was.
        results: Results compared, the latest among them; 0 without a comparison.
        latest: The latest result.
        earlier: Median of the last three earlier ones at most.
        change_ratio: Latest over earlier, less one, to six places; None without a comparison.
        sentence: The same in words.
    """

    sentence: str
    measure: Measure | None = None
    results: int = 0
    latest: Decimal | None = None
    earlier: Decimal | None = None
    change_ratio: Decimal | None = None


def block_result(block: AskedBlock, efforts: Iterable[Effort], local_date: date, *, deload: bool) -> BlockResult | None:
    """Tell what a block came to.

    Args:
        block: The block as planned.
        efforts: The session's sets; those of other slots are passed over.
        local_date: When the session was done.
        deload: Whether it belongs to a planned deload week.

    Returns:
        The result; None when nothing of the block was logged.

    Source: practice.
    """
    keys = {slot.slot_key for slot in block.slots}
    own = [effort for effort in efforts if effort.slot_key in keys]
    if not own:
        return None
    rounds, rounds_from = _rounds(block, own)
    time_s = _time_s(own) if block.kind == "rounds_for_time" else None
    finished = None
    if block.kind == "rounds_for_time" and rounds is not None and block.rounds is not None:
        finished = rounds >= block.rounds
    return BlockResult(
        local_date=local_date,
        deload=deload,
        rounds=rounds,
        rounds_from=rounds_from,
        time_s=time_s,
        finished=finished,
        repetitions=sum(effort.reps or 0 for effort in own),
        metres=sum((effort.distance_m or Decimal(0) for effort in own), Decimal(0)),
        kilocalories=sum((effort.calories_kcal or Decimal(0) for effort in own), Decimal(0)),
        missing="No row of the block carries both its rounds and its time, so the time is not known."
        if block.kind == "rounds_for_time" and time_s is None
        else "",
    )


def compare_results(block: AskedBlock, results: Sequence[BlockResult]) -> ResultComparison:
    """Compare a block's latest result with earlier ones.

    Args:
        block: The block.
        results: Its results, oldest first, at least one; deloads are compared with nothing.

    Returns:
        Time for finished rounds for time, rounds for as many rounds as possible, else metres, kilocalories or
        repetitions, whichever the latest has first.

    Source: practice.
    """
    latest = results[-1]
    if latest.deload:
        return ResultComparison(sentence="The latest was in a deload week and is compared with nothing.")
    measure = _measure(block, latest)
    if measure is None:
        return ResultComparison(sentence=latest.missing or "Nothing comparable was logged of the latest.")
    now = _value(latest, measure)
    before = [
        value
        for one in results[:-1]
        if not one.deload and _measure(block, one) == measure and (value := _value(one, measure))
    ][-COMPARED_OCCURRENCES:]
    if not before or now is None:
        return ResultComparison(sentence="There is no earlier result of the same block.", measure=measure, latest=now)
    earlier = round_half_even_6(Fraction(median(map(Fraction, before))))
    return ResultComparison(
        measure=measure,
        results=len(before) + 1,
        latest=now,
        earlier=earlier,
        change_ratio=round_half_even_6(Fraction(now) / Fraction(earlier) - 1),
        sentence=f"Same block, {_short(now)} against {_short(earlier)} {_MEASURE_WORDS[measure]}; "
        f"{len(before) + 1} results compared.",
    )


def equal_within(latest: Decimal | None, earlier: Decimal | None) -> bool:
    """Say whether two amounts of work count as equal: within 5 % of the earlier.

    Args:
        latest: The one; None is never equal.
        earlier: The other.

    Source: practice.
    """
    if not latest or not earlier:
        return False
    return abs(latest - earlier) <= EQUAL_WORK_RATIO * earlier


def _rounds(block: AskedBlock, own: Sequence[Effort]) -> tuple[Decimal | None, RoundsFrom | None]:
    logged = [effort.rounds for effort in own if effort.rounds is not None]
    if logged:
        return max(logged), "logged"
    if block.kind == "steady":
        return None, None
    numbers: defaultdict[str, set[int]] = defaultdict(set)
    for effort in own:
        numbers[effort.slot_key].add(effort.set_number)
    return Decimal(min(len(numbers[slot.slot_key]) for slot in block.slots)), "counted_sets"


def _time_s(own: Sequence[Effort]) -> Decimal | None:
    timed = [effort.duration_s for effort in own if effort.rounds is not None and effort.duration_s]
    return max(timed) if timed else None


def _measure(block: AskedBlock, result: BlockResult) -> Measure | None:
    if block.kind == "rounds_for_time":
        return "time_s" if result.time_s is not None and result.finished else None
    if block.kind == "max_rounds":
        return "rounds" if result.rounds else None
    wanted: tuple[Measure, ...] = ("metres", "kilocalories", "repetitions")
    return next((measure for measure in wanted if _value(result, measure)), None)


def _value(result: BlockResult, measure: Measure) -> Decimal | None:
    values: dict[Measure, Decimal | None] = {
        "rounds": result.rounds,
        "time_s": result.time_s,
        "repetitions": Decimal(result.repetitions),
        "metres": result.metres,
        "kilocalories": result.kilocalories,
    }
    return values[measure]


def _short(value: Decimal) -> str:
    return f"{value:.1f}".removesuffix(".0")
