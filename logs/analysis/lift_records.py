"""Records beside the least change that can be told from noise.

A repetition record is a record: it was done. Whether strength has changed is another question, for a maximum tested
twice differs by several percent with nothing changed.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, Literal

from coaching.measures.load import LoadUnit
from logs.analysis.constants import PARTED_SET_KINDS, PER_CENT
from logs.analysis.detectable_changes import minimal_detectable_change
from logs.analysis.lift_lines import LiftSession, LiftSet
from logs.analysis.lift_words import load_words, number, repetitions_words, weight
from logs.analysis.matched import equal_loads

RecordKind = Literal["best_estimate", "best_load", "most_repetitions"]

RECORD_KINDS: Final[tuple[RecordKind, ...]] = ("best_estimate", "best_load", "most_repetitions")
"""What a record is of: a best estimate, a load for a number of repetitions, repetitions at a load. Practice."""


_SHOWS_NOTHING: Final = "alone it does not show that strength has changed."


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The best of its kind in the sessions looked at.

    Attributes:
        kind: Of what.
        achieved: The set that holds it.
        earlier: The best before it; None when there was none.
        gain: Kilograms, or repetitions, over the earlier best; None without one.
        gain_pct: That of the earlier best, with the bodyweight moved counted in; None without one, and of repetitions.
        mdc95_pct: The least change of one test against another that is told from noise, 95 %.
        mdc95_kg: That in kilograms of the earlier best; None without one, and of repetitions.
        exceeds_noise: Whether the gain is larger; None where nothing is compared, of repetitions, and of a load whose
            set was harder than the earlier one or of unknown effort: then strength is not what is compared.
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
        for group in _by_load(one for one in sets if one.kind not in PARTED_SET_KINDS)
        if len({one.session_id for one in group}) > 1
    ]
    return tuple(found)


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
        exceeds_noise=None if gain_pct is None or _harder(kind, achieved, earlier) else gain_pct > mdc_pct,
        sentence="",
    )
    words = _repetitions_sentence if kind == "most_repetitions" else _load_sentence
    return replace(found, sentence=words(found, unit))


def _harder(kind: RecordKind, achieved: LiftSet, earlier: LiftSet | None) -> bool:
    """Say whether a load was lifted with less in reserve than the earlier one, as far as is known; else it may be."""
    if kind == "best_estimate" or earlier is None:
        return False
    now, then = achieved.in_reserve, earlier.in_reserve
    return now is None or then is None or now < then


def _load_sentence(record: Record, unit: LoadUnit) -> str:
    words = f"{_figure_words(record.kind, record.achieved, unit)} on {record.achieved.local_date}"
    if record.earlier is None or record.gain is None:
        return f"{words}; none before it."
    before = _figure_words(record.kind, record.earlier, unit, bare=True)
    words = f"{words}, {weight(record.gain, unit)} over {before} on {record.earlier.local_date}"
    if record.gain_pct is None or record.mdc95_kg is None:
        return f"{words}."
    words = f"{words} ({record.gain_pct:.1f} %):"
    if record.exceeds_noise is None:
        return f"{words} {_effort_words(record.achieved, record.earlier)}, so {_SHOWS_NOTHING}"
    noise = f"{weight(_exact(record.mdc95_kg), unit)} ({record.mdc95_pct:.1f} %)"
    words = f"{words} one test is told from noise from {noise} on, so"
    return f"{words} strength has likely changed." if record.exceeds_noise else f"{words} {_SHOWS_NOTHING}"


def _effort_words(achieved: LiftSet, earlier: LiftSet) -> str:
    if achieved.in_reserve is None or earlier.in_reserve is None:
        return "effort is not known both times"
    return f"at {number(achieved.in_reserve)} in reserve against {number(earlier.in_reserve)} then"


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


def _exact(value: float) -> Decimal:
    return Decimal(f"{value:.2f}")
