"""A session with its substitutes and changes, written out for one client, each change told where it stands."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from programs.prescription.accepted_loads import tell_accepted
from programs.prescription.prescription_words import load_words
from programs.prescription.session_changes import ChangedSession
from programs.prescription.snapshot import References, SessionSnapshot, session_snapshot
from programs.prescription.structure import ExerciseFacts, Slot
from programs.prescription.vocabulary import LoadUnit


def changed_snapshot(
    changed: ChangedSession,
    exercises: Mapping[str, ExerciseFacts],
    references: References,
    *,
    unit: LoadUnit,
    steps: Mapping[str, Decimal] | None = None,
) -> SessionSnapshot:
    """Write a session with substitutes and changes out for a client, as `session_snapshot` does.

    A slot that was added says so in `added`. In place of another exercise a slot or entry also has `substituted_for`
    and `substituted_for_name`, and a load that did not carry over says so in `resolved_from`. A slot with an accepted
    load has `accepted_load`, and its sets `instead_of`: what would stand there without it.

    Args:
        changed: the session.
        exercises: facts by key, of every exercise of it, those that were substituted too.
        references: the client's reference loads, by exercise key and kind.
        unit: the unit that the client loads in.
        steps: the steps of loads where it is done, in that unit, by how an exercise is loaded.
    """
    written = session_snapshot(changed.session, exercises, references, unit=unit, steps=steps)
    blocks = zip(changed.written.blocks, changed.session.blocks, written.prescribed["blocks"], strict=True)
    for block, own, place in blocks:
        if block.entry is not None and own.entry is not None and own.entry.exercise != block.entry.exercise:
            place["entry"].update(_replaced(block.entry.exercise, exercises))
        for slot, line in zip(block.slots, place["slots"], strict=True):
            if slot.slot_key in changed.added:
                line["added"] = True
            if line["exercise"] != slot.exercise:
                line.update(_replaced(slot.exercise, exercises))
            _tell_lost_loads(slot, line, exercises)
    if changed.accepted and changed.unaccepted is not None:
        unaccepted = replace(changed, session=changed.unaccepted, accepted={})
        plain = changed_snapshot(unaccepted, exercises, references, unit=unit, steps=steps)
        _tell_accepted(changed, written.prescribed, plain.prescribed)
    return written


def _tell_accepted(changed: ChangedSession, written: Mapping[str, Any], plain: Mapping[str, Any]) -> None:
    blocks = zip(changed.session.blocks, written["blocks"], plain["blocks"], strict=True)
    for block, shown, bare in blocks:
        for slot, line, plain_line in zip(block.slots, shown["slots"], bare["slots"], strict=True):
            accepted = changed.accepted.get(slot.slot_key)
            if accepted is not None:
                tell_accepted(line, plain_line, accepted, slot.sets)


def _replaced(key: str, exercises: Mapping[str, ExerciseFacts]) -> dict[str, str]:
    return {"substituted_for": key, "substituted_for_name": exercises[key].name}


def _tell_lost_loads(slot: Slot, line: dict[str, Any], exercises: Mapping[str, ExerciseFacts]) -> None:
    if len(slot.sets) != len(line["sets"]):
        return
    for group, shown in zip(slot.sets, line["sets"], strict=True):
        if group.load is None or "load" in shown:
            continue
        if line["exercise"] == slot.exercise:
            said = f"{load_words(group.load)} does not carry over"
        else:
            name = exercises[slot.exercise].name
            said = f"{load_words(group.load)}, written for {name}, does not carry over to {line['exercise_name']}"
        shown["resolved_from"] = f"By effort: {said}."
