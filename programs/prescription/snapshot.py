"""A session written out for one client: names beside keys, and each load with what it was resolved from.

What is the same for everyone (minutes, sets, tempo classes) is the `SessionFrame`; what the client's reference
loads and unit decide is the `SessionSnapshot`. Numbers are text in the document, so that nothing is rounded.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any, Final

from programs.prescription.document import encode_session
from programs.prescription.loadable import loadable
from programs.prescription.loads import ReferenceLoad, ResolvedLoad, resolve_load
from programs.prescription.prescribed_loads import PercentLoad
from programs.prescription.same_loads import with_same_loads
from programs.prescription.shown_loads import shown_load
from programs.prescription.structure import ExerciseFacts, Session, SetGroup, Slot
from programs.prescription.tempo_classes import TempoClass, tempo_class
from programs.prescription.timeline import TimelinePolicy, simulate
from programs.prescription.vocabulary import LoadUnit, Reference
from programs.prescription.volume import volume

References = Mapping[str, Mapping[Reference, ReferenceLoad]]

_SHOWN: Final = Decimal("0.01")


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFrame:
    """What a session is for any client.

    ``slot_classes`` holds, by slot_key, the tempo class of each set in the order performed, warm-ups
    and rounds included, so that set number n is entry n - 1. ``work_sets`` counts sets, not blocks against a clock.
    """

    slot_classes: Mapping[str, tuple[TempoClass, ...]]
    work_sets: int
    low_min: Decimal
    high_min: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingReference:
    """A reference load that a session asks for and the client does not have."""

    exercise: str
    exercise_name: str
    of: Reference
    suggestion: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionSnapshot:
    """The document that a client follows, and the reference loads that are missing for it."""

    prescribed: Mapping[str, Any]
    missing: tuple[MissingReference, ...]


def session_frame(
    session: Session, exercises: Mapping[str, ExerciseFacts], policy: TimelinePolicy | None = None
) -> SessionFrame:
    """Reckon what is the same for every client.

    Args:
        session: what is prescribed.
        exercises: facts by exercise key, every exercise of the session among them.
        policy: how time is reckoned.
    """
    timeline = simulate(session, exercises, policy)
    return SessionFrame(
        slot_classes={
            slot.slot_key: _classes(slot, exercises[slot.exercise]) * (block.rounds or 1)
            for block in session.blocks
            for slot in block.slots
        },
        work_sets=volume([session], exercises).work_sets,
        low_min=timeline.low_min,
        high_min=timeline.high_min,
    )


def reference_exercises(session: Session) -> tuple[str, ...]:
    """Give the keys of the exercises whose loads depend on the client's references, in order."""
    found = (slot.exercise for slot in session.slots if any(isinstance(group.load, PercentLoad) for group in slot.sets))
    return tuple(dict.fromkeys(found))


def session_snapshot(
    session: Session,
    exercises: Mapping[str, ExerciseFacts],
    references: References,
    *,
    unit: LoadUnit,
    steps: Mapping[str, Decimal] | None = None,
) -> SessionSnapshot:
    """Write a session out for one client.

    Args:
        session: what is prescribed.
        exercises: facts by exercise key, every exercise of the session among them.
        references: the client's reference loads, by exercise key and kind.
        unit: the unit that the client loads in.
        steps: the steps of loads where the session is done, in that unit, by how an exercise is loaded; the usual
            ones where it has none.

    Returns:
        The session's own document, with `exercise_name` and `load_basis` beside each exercise, and in each
        set group `load_status`, `load_kg`, `load_lb`, `load_unit`, `resolved_from` and `suggestion`.
    """
    document = encode_session(session)
    missing: dict[tuple[str, Reference], MissingReference] = {}
    for block, written in zip(session.blocks, document["blocks"], strict=True):
        if block.entry is not None:
            written["entry"]["exercise_name"] = exercises[block.entry.exercise].name
        for slot, place in zip(block.slots, written["slots"], strict=True):
            facts = exercises[slot.exercise]
            place |= {"exercise_name": facts.name, "load_basis": facts.load_basis}
            for group, line in zip(slot.sets, place["sets"], strict=True):
                step = None if steps is None else steps.get(facts.loading)
                resolved = _resolved(group, facts, references.get(slot.exercise, {}), unit, step)
                line.update(shown_load(resolved))
                for lack in _lacks(group, facts, resolved):
                    missing[lack.exercise, lack.of] = lack
    document = with_same_loads(document, exercises, unit=unit, steps=steps)
    return SessionSnapshot(prescribed=document, missing=tuple(missing.values()))


def _classes(slot: Slot, facts: ExerciseFacts) -> tuple[TempoClass, ...]:
    return tuple(tempo_class(group.tempo, facts.restful_end) for group in slot.sets for _ in range(group.count))


def _resolved(
    group: SetGroup,
    facts: ExerciseFacts,
    references: Mapping[Reference, ReferenceLoad],
    unit: LoadUnit,
    step: Decimal | None,
) -> ResolvedLoad:
    resolved = resolve_load(
        group.load,
        references,
        loading=facts.loading,
        unit=unit,
        step=step,
        tempo_class=tempo_class(group.tempo, facts.restful_end),
    )
    written = resolved.load
    if written is None or written.unit == unit:
        return resolved
    fits = loadable(written, facts.loading, unit, step)
    said = f"{resolved.from_what} {written.value:f} {written.unit}"
    if fits.load is None:
        return replace(resolved, from_what=f"{said}: {fits.reason}")
    closest = fits.load.value.quantize(_SHOWN, rounding=ROUND_HALF_EVEN)
    shown = f"{closest.normalize():f} {unit}."
    if not fits.rounded:
        return replace(resolved, from_what=f"{said} is {shown}")
    return replace(resolved, load=replace(fits.load, value=closest), from_what=f"{said}, rounded down to {shown}")


def _lacks(group: SetGroup, facts: ExerciseFacts, resolved: ResolvedLoad) -> Iterator[MissingReference]:
    if resolved.status == "needs_reference" and isinstance(group.load, PercentLoad):
        yield MissingReference(
            exercise=facts.key,
            exercise_name=facts.name,
            of=group.load.of,
            suggestion=resolved.suggestion or "",
        )
