"""Records beside the least change that can be told from noise.

A repetition record is a record: it was done. Whether strength has changed is another question, for a maximum tested
twice differs by several percent with nothing changed.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import sqrt
from typing import Final, Literal

from coaching.measures.load import LoadUnit
from logs.analysis.constants import AVERAGED_SESSIONS_MOST, PER_CENT, TYPICAL_ERROR_PCT, Z_95
from logs.analysis.lift_lines import LiftSession, LiftSet
from logs.analysis.lift_words import load_words, number, repetitions_words, weight
from logs.analysis.matched import equal_loads

RecordKind = Literal["best_estimate", "best_load", "most_repetitions"]

RECORD_KINDS: Final[tuple[RecordKind, ...]] = ("best_estimate", "best_load", "most_repetitions")
"""What a record is of: a best estimate, a load for a number of repetitions, repetitions at a load. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The best of its kind in the weeks looked at.

    Attributes:
        kind: Of what.
        achieved: The set that holds it.
        earlier: The best before it; None when there was none.
        gain: Kilograms, or repetitions, over the earlier best; None without one.
        gain_pct: That of the earlier best, with the bodyweight moved counted in; None without one, and of repetitions.
        mdc95_pct: The least change of one test against another that is told from noise, 95 %.
        mdc95_kg: That in kilograms of the earlier best; None without one, and of repetitions.
        exceeds_noise: Whether the gain is larger; None where nothing is compared, and of repetitions.
        sentence: All that in words.
    """

    kind: RecordKind
    achieved: LiftSet
    earlier: LiftSet | None
    gain: Decimal | None
    gain_pct: float | None
    mdc95_pct: float
    mdc95_kg: float | None
    exceeds_noise: bool | None
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AveragedChange:
    """The mean best estimate of the latest sessions against as many before them.

    Attributes:
        sessions: How many on either side; 0 when there are under two each.
        latest_kg: Their mean; None when there are too few.
        before_kg: The mean of those before.
        change_pct: The change, in percent of the mean before, with the bodyweight moved counted in.
        mdc95_pct: The least change of such means that is told from noise, 95 %.
        exceeds_noise: Whether the change, up or down, is larger.
        sentence: All that in words.
    """

    sessions: int
    latest_kg: float | None
    before_kg: float | None
    change_pct: float | None
    mdc95_pct: float | None
    exceeds_noise: bool | None
    sentence: str


def minimal_detectable_change(typical_error: float = TYPICAL_ERROR_PCT, *, z: float = Z_95, sessions: int = 1) -> float:
    """Give the least change between two measurements that is told from their noise.

    Args:
        typical_error: Typical error of one measurement, in any unit; percent by default.
        z: Standard score of the confidence wanted; 1.96 for 95 %.
        sessions: How many sessions are averaged on either side.

    Returns:
        z times the root of two times the typical error, over the root of the sessions, in the error's unit.

    Raises:
        ValueError: Fewer than one session.

    Source: the usual formula (MDC95 = 1.96 root 2 TE), secondary pages; the typical error of Grgic et al. 2020.
    """
    if sessions < 1:
        raise ValueError(f"At least one session is measured, not {sessions}.")
    return z * sqrt(2) * typical_error / sqrt(sessions)


def records(sessions: Sequence[LiftSession], unit: LoadUnit = "kg") -> tuple[Record, ...]:
    """Find a line's records.

    Args:
        sessions: The line's sessions, oldest first.
        unit: The unit of the words.

    Returns:
        The best estimate that the line takes; the heaviest load at each number of repetitions, fewest first; and where
        a load (within 1 %) was lifted in more than one session, the most repetitions at it, heaviest load first.

    Source: practice; the minimal detectable change after Grgic et al. 2020 Sports Med Open 6:31.
    """
    sets = [one for session in sessions for one in session.sets if one.repetitions]
    taken = [one for one in sets if one.enters_line]
    found = [_record("best_estimate", taken, _value, unit)] if taken else []
    by_repetitions: defaultdict[int, list[LiftSet]] = defaultdict(list)
    for one in sets:
        by_repetitions[one.repetitions or 0].append(one)
    found += [_record("best_load", by_repetitions[count], _load, unit) for count in sorted(by_repetitions)]
    found += [
        _record("most_repetitions", group, _repetitions, unit)
        for group in _by_load(sets)
        if len({one.session_id for one in group}) > 1
    ]
    return tuple(found)


def averaged_change(sessions: Sequence[LiftSession], unit: LoadUnit = "kg") -> AveragedChange:
    """Hold the latest sessions together against as many before them: means are less noisy than single bests.

    Args:
        sessions: The line's sessions, oldest first, deload and absent weeks left out.
        unit: The unit of the words.

    Returns:
        The change of means of up to eight sessions on either side; without figures under four sessions in all.

    Source: as `minimal_detectable_change`; eight sessions at most is practice.
    """
    bests = [one.best for one in sessions if one.best.enters_line]
    count = min(len(bests) // 2, AVERAGED_SESSIONS_MOST)
    latest, before = bests[len(bests) - count :], bests[len(bests) - 2 * count : len(bests) - count]
    bodies = [one.body_kg for one in before if one.body_kg is not None]
    whole = _mean([_value(one) for one in before]) + _mean(bodies) if len(bodies) == count else 0.0
    if count < 2 or whole <= 0:  # noqa: PLR2004 -- one session each is what a record is
        sentence = "Means are compared from 4 sessions with an estimate on, where the load moved is known."
        return AveragedChange(
            sessions=0,
            latest_kg=None,
            before_kg=None,
            change_pct=None,
            mdc95_pct=None,
            exceeds_noise=None,
            sentence=sentence,
        )
    latest_kg, before_kg = _mean([_value(one) for one in latest]), _mean([_value(one) for one in before])
    change_pct = (latest_kg - before_kg) / whole * PER_CENT
    mdc = minimal_detectable_change(sessions=count)
    exceeds = abs(change_pct) > mdc
    return AveragedChange(
        sessions=count,
        latest_kg=latest_kg,
        before_kg=before_kg,
        change_pct=change_pct,
        mdc95_pct=mdc,
        exceeds_noise=exceeds,
        sentence=(
            f"The mean of the latest {count} sessions' best estimates is {weight(_exact(latest_kg), unit)}, "
            f"{change_pct:+.1f} % on the {count} before ({weight(_exact(before_kg), unit)}); means of {count} are told "
            f"from noise from {mdc:.1f} % on, so this {'is a change' if exceeds else 'may be noise'}."
        ),
    )


def _record(kind: RecordKind, sets: Sequence[LiftSet], figure: Callable[[LiftSet], Decimal], unit: LoadUnit) -> Record:
    achieved = max(sets, key=figure)
    earlier = max((one for one in sets if one.local_date < achieved.local_date), key=figure, default=None)
    gain = None if earlier is None else figure(achieved) - figure(earlier)
    mdc_pct = minimal_detectable_change()
    whole = 0.0
    if earlier is not None and achieved.body_kg is not None and kind != "most_repetitions":
        whole = float(figure(earlier) + achieved.body_kg)
    gain_pct = None if gain is None or whole <= 0 else float(gain) / whole * PER_CENT
    found = Record(
        kind=kind,
        achieved=achieved,
        earlier=earlier,
        gain=gain,
        gain_pct=gain_pct,
        mdc95_pct=mdc_pct,
        mdc95_kg=None if gain_pct is None else whole * mdc_pct / PER_CENT,
        exceeds_noise=None if gain_pct is None else gain_pct > mdc_pct,
        sentence="",
    )
    words = _repetitions_sentence if kind == "most_repetitions" else _load_sentence
    return replace(found, sentence=words(found, unit))


def _load_sentence(record: Record, unit: LoadUnit) -> str:
    words = f"{_figure_words(record.kind, record.achieved, unit)} on {record.achieved.local_date}"
    if record.earlier is None or record.gain is None:
        return f"{words}; none before it in these weeks."
    before = _figure_words(record.kind, record.earlier, unit, bare=True)
    words = f"{words}, {weight(record.gain, unit)} over {before} on {record.earlier.local_date}"
    if record.gain_pct is None or record.mdc95_kg is None:
        return f"{words}."
    noise = f"{weight(_exact(record.mdc95_kg), unit)} ({record.mdc95_pct:.1f} %)"
    words = f"{words} ({record.gain_pct:.1f} %): one test is told from noise from {noise} on, so"
    if record.exceeds_noise:
        return f"{words} strength has likely changed."
    return f"{words} alone it does not show that strength has changed."


def _figure_words(kind: RecordKind, one: LiftSet, unit: LoadUnit, *, bare: bool = False) -> str:
    if kind == "best_estimate":
        words = load_words(_exact(float(_value(one))), one.load_basis, unit)
        return words if bare else f"Best estimate {words}"
    words = load_words(_load(one), one.load_basis, unit)
    return words if bare else f"Heaviest for {repetitions_words(_repetitions(one))}: {words}"


def _repetitions_sentence(record: Record, unit: LoadUnit) -> str:
    achieved = record.achieved
    load = load_words(_load(achieved), achieved.load_basis, unit)
    words = f"Most at {load}: {repetitions_words(_repetitions(achieved))} on {achieved.local_date}"
    if record.gain is None:
        return f"{words}, the first time at this load, and not beaten since."
    return f"{words}, {number(record.gain)} more than ever before: a repetition record is a record."


def _by_load(sets: Iterable[LiftSet]) -> list[list[LiftSet]]:
    groups: list[list[LiftSet]] = []
    for one in sorted(sets, key=_load, reverse=True):
        if groups and equal_loads(groups[-1][0], one):
            groups[-1].append(one)
        else:
            groups.append([one])
    # In the order of time: the first to reach a number of repetitions holds the record.
    return [sorted(group, key=lambda one: (one.local_date, one.session_id)) for group in groups]


def _value(one: LiftSet) -> Decimal:
    return one.value_kg or Decimal(0)


def _load(one: LiftSet) -> Decimal:
    return one.load_kg or Decimal(0)


def _repetitions(one: LiftSet) -> Decimal:
    return Decimal(one.repetitions or 0)


def _mean(values: Sequence[Decimal]) -> float:
    return float(sum(values, Decimal(0)) / len(values)) if values else 0.0


def _exact(value: float) -> Decimal:
    return Decimal(f"{value:.2f}")
