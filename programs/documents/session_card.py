"""The card of a planned session: what a client follows on a phone or on paper, with every word ready to be shown."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from programs.documents.card_cautions import STANDING_CAUTION, StopSigns, stop_signs
from programs.documents.card_loads import CardLoad, card_load
from programs.documents.card_words import (
    KIND_WORDS,
    Amount,
    amount,
    block_words,
    effort_words,
    entry_words,
    performed_count,
    rest_words,
    seconds_words,
)
from programs.prescription.client_fit import hold_warnings
from programs.prescription.session_pace import PacedTime, paced_time
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot
from programs.prescription.tempo import Tempo, performed_words
from programs.prescription.timeline import Timeline, TimelinePolicy, simulate
from programs.prescription.timeline_blocks import rest_s
from programs.prescription.vocabulary import BlockKind, LoadUnit, SetKind
from programs.selectors.cards import CardFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class CardSet:
    """Equal sets. ``count`` is None where the block's rounds or clock decide how many are done.

    ``boxes`` is how many of them can be written down on paper; ``counts`` is false for sets that only prepare.
    """

    count: int | None
    boxes: int
    counts: bool
    kind: SetKind
    kind_words: str
    amount: Amount
    effort: str
    tempo: str
    load: CardLoad


@dataclass(frozen=True, slots=True, kw_only=True)
class CardTempo:
    """A tempo as written, and as it is performed in this lift; ``performed`` is empty without phases."""

    written: str
    performed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CardExercise:
    """An exercise at its place in a block; ``instead_of`` is the name of what it stands in for, empty for none.

    ``added`` is whether it is in this one session only.
    """

    slot_key: str
    exercise: str
    name: str
    sets: tuple[CardSet, ...]
    tempos: tuple[CardTempo, ...]
    rest_s: int | None
    rest_assumed: bool
    rest: str
    notes: str
    instead_of: str = ""
    added: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CardBlock:
    """Exercises done together; ``first`` is what comes before the first set."""

    kind: BlockKind
    label: str
    how: str
    first: tuple[str, ...]
    exercises: tuple[CardExercise, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionCard:
    """Everything that a card shows. ``session`` and ``timeline`` are what its drawing is made of.

    ``pace`` is the time at the client's usual pace; ``held`` says in sentences what is held for pain.
    """

    planned_session_id: UUID
    row_version: int
    business_name: str
    client_id: UUID
    client_name: str
    unit: LoadUnit
    title: str
    week_number: int
    day_number: int
    deload: bool
    state: str
    local_date: date
    window_start: date
    window_end: date
    cap_min: int | None
    equipment: tuple[str, ...]
    blocks: tuple[CardBlock, ...]
    session: Session
    timeline: Timeline
    pace: PacedTime
    held: tuple[str, ...]
    cautions: tuple[StopSigns, ...]
    caution: str = STANDING_CAUTION


def session_card(facts: CardFacts) -> SessionCard:
    """Make the card of a planned session."""
    session = facts.session
    timeline = simulate(session, facts.exercises, facts.reckoning)
    things = (thing for key in _in_order(session) for thing in _known(facts, key))
    return SessionCard(
        planned_session_id=facts.planned_session_id,
        row_version=facts.row_version,
        business_name=facts.business_name,
        client_id=facts.client_id,
        client_name=facts.client_name,
        unit=facts.unit,
        title=facts.title or f"Day {facts.day_number}",
        week_number=facts.week_number,
        day_number=facts.day_number,
        deload=facts.deload,
        state=facts.state,
        local_date=facts.local_date,
        window_start=facts.window_start,
        window_end=facts.window_end,
        cap_min=session.cap_min,
        equipment=tuple(dict.fromkeys(thing.replace("_", " ") for thing in things)),
        blocks=tuple(_blocks(facts, timeline)),
        session=session,
        timeline=timeline,
        pace=paced_time(timeline.low_min, timeline.high_min, facts.pace),
        held=_held(facts),
        cautions=stop_signs(),
    )


def _held(facts: CardFacts) -> tuple[str, ...]:
    keys = dict.fromkeys(_in_order(facts.session))
    known = [facts.exercises[key] for key in keys if key in facts.exercises]
    return tuple(warning.detail for warning in hold_warnings(known, facts.holds))


def _in_order(session: Session) -> Iterator[str]:
    for block in session.blocks:
        if block.entry is not None:
            yield block.entry.exercise
        yield from (slot.exercise for slot in block.slots)


def _known(facts: CardFacts, key: str) -> tuple[str, ...]:
    return facts.exercises[key].equipment if key in facts.exercises else ()


def _blocks(facts: CardFacts, timeline: Timeline) -> Iterator[CardBlock]:
    for index, (block, written) in enumerate(zip(facts.session.blocks, facts.prescribed["blocks"], strict=True)):
        ramp_s = sum(event.high_s for event in timeline.events if event.kind == "ramp" and event.block_index == index)
        first = []
        if ramp_s:
            first.append(f"Build up first with a few lighter sets, about {seconds_words(ramp_s)}")
        if block.entry is not None:
            first.append(entry_words(block.entry, written["entry"]["exercise_name"]))
        yield CardBlock(
            kind=block.kind,
            label=block.label,
            how=block_words(block),
            first=tuple(first),
            exercises=tuple(
                _exercise(block, place, written["slots"][place], facts) for place in range(len(block.slots))
            ),
        )


def _exercise(block: Block, place: int, written: Mapping[str, Any], facts: CardFacts) -> CardExercise:
    slot = block.slots[place]
    known = facts.exercises.get(slot.exercise)
    rested_s, assumed = _rest(block, slot, facts.reckoning)
    tempos = dict.fromkeys(group.tempo for group in slot.sets if group.tempo is not None)
    return CardExercise(
        slot_key=slot.slot_key,
        exercise=slot.exercise,
        name=written["exercise_name"],
        sets=tuple(
            _set(block, slot, number, card_load(line, known, written["load_basis"], facts.unit))
            for number, line in enumerate(written["sets"])
        ),
        tempos=tuple(CardTempo(written=str(tempo), performed=_performed(tempo, known)) for tempo in tempos),
        rest_s=rested_s,
        rest_assumed=assumed,
        rest=rest_words(block, place, rest_s=rested_s, assumed=assumed),
        notes=slot.notes,
        instead_of=written.get("substituted_for_name", ""),
        added=written.get("added", False),
    )


def _set(block: Block, slot: Slot, place: int, load: CardLoad) -> CardSet:
    group = slot.sets[place]
    count = performed_count(block, group)
    # Of unlike rounds each is listed, and done once.
    of_a_round = slot.set_count > 1 and block.rounds is not None
    first = 1 + sum(before.count for before in slot.sets[:place])
    return CardSet(
        count=count,
        boxes=group.count if of_a_round else count or block.rounds or 1,
        counts=group.counts_as_work,
        kind=group.kind,
        kind_words=KIND_WORDS[group.kind] or (_round_words(first, group.count) if of_a_round else ""),
        amount=amount(group, per_side=slot.per_side),
        effort=effort_words(group),
        tempo="" if group.tempo is None else str(group.tempo),
        load=load,
    )


def _performed(tempo: Tempo, known: ExerciseFacts | None) -> str:
    if known is None or known.starts_at is None or known.phase_words is None:
        return ""
    return performed_words(tempo, known.starts_at, known.phase_words)


def _round_words(first: int, count: int) -> str:
    return f"round {first}" if count == 1 else f"rounds {first} to {first + count - 1}"


def _rest(block: Block, slot: Slot, reckoning: TimelinePolicy) -> tuple[int | None, bool]:
    if block.kind in ("interval", "every_minute", "steady"):
        return None, False
    if block.rest_between_rounds_s is not None and slot is block.slots[-1]:
        return block.rest_between_rounds_s, False
    return rest_s(block, slot, reckoning)
