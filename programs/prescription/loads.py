"""Resolving a prescribed load for one client, with a sentence that says what it was resolved from.

A percentage is taken of a named reference load. Without a training maximum, 90 % of the best known maximum
stands in (practice). Slow and paused tempos take the reference times a factor that the coach sets, else the set
goes by effort: loads at unlike tempos are not comparable.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final, Literal

from coaching.measures.load import kg_to_lb
from programs.prescription.constants import PERCENT, TRAINING_MAX_RATIO
from programs.prescription.loadable import loadable
from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    Load,
    PercentLoad,
    RelativeToTopLoad,
    SameAsLoad,
)
from programs.prescription.tempo_classes import TempoClass
from programs.prescription.vocabulary import Loading, LoadUnit, Reference

LoadStatus = Literal[
    "resolved", "by_effort", "bodyweight", "band", "on_the_day", "needs_reference", "needs_effort", "not_loadable"
]

SUGGESTED_TEST: Final = "Suggested test: build to one set of 3 to 5 repetitions at RPE 8, and log it."
"""What is suggested where a reference load is missing. Practice."""

_NAMES: Final[dict[Reference, str]] = {
    "training_max": "the training maximum",
    "tested": "the tested maximum",
    "estimated": "the estimated maximum",
    "working": "the working load",
}
"""How references are called in a sentence. Practice."""

_COMPARABLE: Final = frozenset({"standard", "unspecified"})
"""Tempo classes to which a reference applies as it stands. Practice."""

_GRAM = Decimal("0.001")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceLoad:
    """One client's reference for one exercise, in the exercise's own basis.

    ``tempo_factors`` has what the coach takes it times at slow and paused tempos, by class, each at most once.
    """

    kind: Reference
    load_kg: Decimal
    local_date: date | None = None
    tempo_factors: tuple[tuple[TempoClass, Decimal], ...] = ()

    def factor(self, tempo_class: TempoClass) -> Decimal | None:
        """Give what it is taken times at a tempo class; None where the coach has set nothing."""
        return dict(self.tempo_factors).get(tempo_class)


@dataclass(frozen=True, slots=True, kw_only=True)
class ResolvedLoad:
    """What a set is to be done with.

    ``load`` is what can be loaded, in the client's unit; ``asked_kg`` what was asked before rounding down. Both
    are None where no figure can be given, and ``from_what`` always says why or from what.
    """

    status: LoadStatus
    from_what: str
    load: AbsoluteLoad | None = None
    asked_kg: Decimal | None = None
    suggestion: str | None = None

    @property
    def load_kg(self) -> Decimal | None:
        """The load in kilograms, exact; None where there is no figure."""
        return None if self.load is None else self.load.load_kg


def resolve_load(
    load: Load | None,
    references: Mapping[Reference, ReferenceLoad],
    *,
    loading: Loading,
    unit: LoadUnit = "kg",
    step: Decimal | None = None,
    tempo_class: TempoClass = "unspecified",
    tempo_factor: Decimal | None = None,
) -> ResolvedLoad:
    """Resolve one prescribed load.

    Args:
        load: as prescribed; None goes by effort.
        references: the client's reference loads for the exercise, by kind.
        loading: how the exercise is loaded.
        unit: the unit that the client loads in.
        step: the client's own step in that unit; the usual one if None.
        tempo_class: the class of the set's tempo.
        tempo_factor: what a reference is taken times at this tempo class, such as 0.85; where None, what the coach
            has set with the reference itself.
    """
    match load:
        case None:
            return ResolvedLoad(status="by_effort", from_what="By effort: no load is prescribed.")
        case AbsoluteLoad():
            return ResolvedLoad(status="resolved", from_what="As written.", load=load, asked_kg=load.load_kg)
        case BodyweightLoad():
            return ResolvedLoad(status="bodyweight", from_what="Bodyweight, nothing added.")
        case BandLoad():
            return ResolvedLoad(status="band", from_what=f"Band: {load.text}.")
        case RelativeToTopLoad():
            said = f"{load.pct:+f} % of the day's top set, once it is lifted."
            return ResolvedLoad(status="on_the_day", from_what=said)
        case SameAsLoad():
            return ResolvedLoad(status="on_the_day", from_what=f"The load used in {load.slot_key}.")
        case PercentLoad():
            return _of_reference(
                load, references, _Loader(loading=loading, unit=unit, step=step), tempo_class, tempo_factor
            )


def resolve_of_top(
    load: RelativeToTopLoad,
    top: AbsoluteLoad,
    *,
    loading: Loading,
    unit: LoadUnit = "kg",
    step: Decimal | None = None,
) -> ResolvedLoad:
    """Resolve a load that hangs on the day's top set, once that is lifted; rounded down to what can be loaded.

    Args:
        load: as prescribed.
        top: what the top set was lifted with, in the exercise's own basis. Of help, or of bodyweight alone, no
            percentage is taken: the load then stays unknown.
        loading: how the exercise is loaded.
        unit: the unit that the client loads in.
        step: the client's own step in that unit; the usual one if None.
    """
    if top.value <= 0:
        return resolve_load(load, {}, loading=loading, unit=unit)
    way = "under" if load.pct < 0 else "over"
    share = f"{_plain(abs(load.pct))} % {way} today's top set" if load.pct else "As today's top set"
    asked = AbsoluteLoad(value=top.value * (PERCENT + load.pct) / PERCENT, unit=top.unit)
    loader = _Loader(loading=loading, unit=unit, step=step)
    return loader.load(asked, f"{share}, {_plain(top.value)} {top.unit}.")


def resolve_same_as(
    load: SameAsLoad,
    of: AbsoluteLoad,
    *,
    how: str,
    loading: Loading,
    unit: LoadUnit = "kg",
    step: Decimal | None = None,
) -> ResolvedLoad:
    """Resolve a load that is another slot's, once that is known; rounded down to what can be loaded.

    Args:
        load: as prescribed.
        of: the other slot's load, in a basis that both exercises share.
        how: how it is known: ``planned`` or ``logged``.
        loading: how the exercise is loaded.
        unit: the unit that the client loads in.
        step: the client's own step in that unit; the usual one if None.
    """
    said = f"Same as {load.slot_key}, {how} at {_plain(of.value)} {of.unit}."
    if of.value <= 0:
        # Help, and nothing added, are not rounded to what a bar can carry.
        return ResolvedLoad(status="resolved", from_what=said, load=of, asked_kg=of.load_kg)
    return _Loader(loading=loading, unit=unit, step=step).load(of, said)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Loader:
    loading: Loading
    unit: LoadUnit
    step: Decimal | None

    def load(self, asked: AbsoluteLoad, from_what: str) -> ResolvedLoad:
        fits = loadable(asked, self.loading, self.unit, self.step)
        if fits.load is None:
            return ResolvedLoad(status="not_loadable", from_what=f"{from_what} {fits.reason}", asked_kg=asked.load_kg)
        said = f"{from_what} Rounded down to {_plain(fits.load.value)} {self.unit}." if fits.rounded else from_what
        return ResolvedLoad(status="resolved", from_what=said, load=fits.load, asked_kg=asked.load_kg)


def _of_reference(
    load: PercentLoad,
    references: Mapping[Reference, ReferenceLoad],
    loader: _Loader,
    tempo_class: TempoClass,
    tempo_factor: Decimal | None,
) -> ResolvedLoad:
    found = _reference_kg(load.of, references, loader.unit)
    if found is None:
        return ResolvedLoad(
            status="needs_reference",
            from_what=f"{_plain(load.pct)} % of {_NAMES[load.of]}, which is not known for this client.",
            suggestion=SUGGESTED_TEST,
        )
    reference_kg, words, reference = found
    sentence = f"{_plain(load.pct)} % of {words}"
    factor = Decimal(1)
    if tempo_class not in _COMPARABLE:
        found_factor = reference.factor(tempo_class) if tempo_factor is None else tempo_factor
        if found_factor is None:
            return ResolvedLoad(
                status="needs_effort",
                from_what=f"{sentence}, but the tempo is {tempo_class} and no factor is set for it.",
                suggestion="Set a factor for this tempo, or prescribe an RPE instead of a percentage.",
            )
        factor = found_factor
        sentence = f"{sentence}, times {_plain(factor)} for a {tempo_class} tempo"
    return loader.load(AbsoluteLoad(value=reference_kg * load.pct / PERCENT * factor), f"{sentence}.")


def _reference_kg(
    wanted: Reference, references: Mapping[Reference, ReferenceLoad], unit: LoadUnit
) -> tuple[Decimal, str, ReferenceLoad] | None:
    exact = references.get(wanted)
    if exact is not None:
        return exact.load_kg, _reference_words(exact, unit), exact
    maximums: tuple[Reference, ...] = ("tested", "estimated")
    known = [references[kind] for kind in maximums if kind in references]
    if wanted != "training_max" or not known:
        return None
    best = max(known, key=lambda reference: reference.load_kg)
    share = _plain(TRAINING_MAX_RATIO * PERCENT)
    words = f"a training maximum taken as {share} % of {_reference_words(best, unit)}"
    return best.load_kg * TRAINING_MAX_RATIO, words, best


def _reference_words(reference: ReferenceLoad, unit: LoadUnit) -> str:
    value = reference.load_kg if unit == "kg" else kg_to_lb(reference.load_kg)
    dated = "" if reference.local_date is None else f" of {reference.local_date.isoformat()}"
    return f"{_NAMES[reference.kind]}{dated} ({_plain(value)} {unit})"


def _plain(value: Decimal) -> str:
    text = format(value.quantize(_GRAM, rounding=ROUND_HALF_EVEN), "f")
    return text.rstrip("0").rstrip(".")
