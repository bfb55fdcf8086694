"""Loads that a coach accepted for single sessions, laid over what the session prescribes.

An accepted load holds for a slot, an exercise and what the slot asked for then. Where any of the three is another, by
a swap, a change of the slot or another version, the load has no place: it is left out, and that is said.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from programs.prescription.constants import RPE_MAX
from programs.prescription.document_encoding import encode_set_group
from programs.prescription.prescribed_loads import AbsoluteLoad
from programs.prescription.structure import Session, SetGroup, Slot
from programs.prescription.vocabulary import LoadUnit

_LOAD_FIELDS: Final = (
    "load",
    "load_status",
    "load_kg",
    "load_lb",
    "load_unit",
    "resolved_from",
    "suggestion",
)
"""What of a set group says its load. Practice."""

_SETS_BEFORE: Final[Mapping[str, Any]] = {
    "count": 1,
    "kind": "work",
    "to_limit": False,
    "rpe": None,
    "in_reserve": None,
}
"""What of a set group says how many and how hard, with what stands for each where it is not written. Practice."""

_DIGEST_BYTES: Final = 8
"""Bytes of the digest of what a slot asks for. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptedLoad:
    """A load accepted for a slot of one session.

    ``groups`` are the places, from 0, of the set groups that take it; ``asked`` is the digest of what the slot asked
    for (`asked_of`); ``advice`` the sentence that was accepted, and ``advised_on`` its local date. ``counts``
    are the most sets of each group and ``rpe_most`` the highest RPE, where fewer and easier sets were accepted too.
    """

    exercise: str
    load: AbsoluteLoad
    groups: tuple[int, ...]
    asked: str
    advice: str
    advised_on: date
    accepted_at: datetime
    accepted_by: str
    counts: tuple[int, ...] = ()
    rpe_most: Decimal | None = None


def read_accepted_load(document: Mapping[str, Any]) -> AcceptedLoad:
    """Read an accepted load as it is kept."""
    unit: LoadUnit = "lb" if "load_lb" in document else "kg"
    return AcceptedLoad(
        exercise=document["exercise"],
        load=AbsoluteLoad(value=Decimal(document[f"load_{unit}"]), unit=unit),
        groups=tuple(document["groups"]),
        asked=document["asked"],
        advice=document["advice"],
        advised_on=date.fromisoformat(document["advised_on"]),
        accepted_at=datetime.fromisoformat(document["accepted_at"]),
        accepted_by=document["accepted_by"],
        counts=tuple(document.get("counts", ())),
        rpe_most=Decimal(document["rpe_most"]) if "rpe_most" in document else None,
    )


def encode_accepted_load(accepted: AcceptedLoad) -> dict[str, Any]:
    """Write an accepted load as it is kept: a JSON object."""
    return {
        "exercise": accepted.exercise,
        f"load_{accepted.load.unit}": _plain(accepted.load.value),
        "groups": list(accepted.groups),
        "asked": accepted.asked,
        "advice": accepted.advice,
        "advised_on": accepted.advised_on.isoformat(),
        "accepted_at": accepted.accepted_at.isoformat(),
        "accepted_by": accepted.accepted_by,
        **({"counts": list(accepted.counts)} if accepted.counts else {}),
        **({} if accepted.rpe_most is None else {"rpe_most": _plain(accepted.rpe_most)}),
    }


def asked_of(slot: Slot) -> str:
    """Give the digest of what a slot asks for: repetitions, effort, tempo and load of its sets.

    How many sets, the rest and the notes are left out: they change no load.
    """
    written = map(encode_set_group, slot.sets)
    sets = [{name: value for name, value in group.items() if name != "count"} for group in written]
    text = json.dumps(sets, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[: 2 * _DIGEST_BYTES]


def with_accepted_loads(
    session: Session, accepted: Mapping[str, AcceptedLoad]
) -> tuple[Session, dict[str, AcceptedLoad], dict[str, str]]:
    """Lay accepted loads over a session.

    Args:
        session: with its swaps and changed slots, before any deload.
        accepted: by slot_key.

    Returns:
        The session; the loads that have a place in it; and a sentence by slot_key for each that has none.
    """
    slots = {slot.slot_key: slot for slot in session.slots}
    lost = {key: sentence for key, one in accepted.items() if (sentence := _lost(one, key, slots.get(key)))}
    placed = {key: one for key, one in accepted.items() if key not in lost}
    if not placed:
        return session, {}, lost
    blocks = tuple(
        replace(block, slots=tuple(_loaded(slot, placed.get(slot.slot_key)) for slot in block.slots))
        for block in session.blocks
    )
    return replace(session, blocks=blocks), placed, lost


def tell_accepted(
    line: dict[str, Any], plain: Mapping[str, Any], accepted: AcceptedLoad, groups: tuple[SetGroup, ...]
) -> None:
    """Say in a written-out slot which of its loads were accepted, and what they stand instead of.

    Args:
        line: the slot as it is written out with the accepted load; changed in place.
        plain: the same slot written out without it.
        accepted: the load.
        groups: the slot's set groups, with the load.
    """
    line["accepted_load"] = {
        "load_kg": _plain(accepted.load.load_kg),
        "advised_on": accepted.advised_on.isoformat(),
        "advice": accepted.advice,
        "accepted_at": accepted.accepted_at.isoformat(),
        "accepted_by": accepted.accepted_by,
    }
    if accepted.counts or accepted.rpe_most is not None:
        line["accepted_load"]["sets_before"] = [
            {name: group.get(name, unset) for name, unset in _SETS_BEFORE.items()} for group in plain["sets"]
        ]
    for place in accepted.groups:
        shown = line["sets"][place]
        lighter = "" if groups[place].load == accepted.load else " Lighter for the deload."
        shown["resolved_from"] = f"Advice of {accepted.advised_on}: {accepted.advice}{lighter}"
        shown["instead_of"] = {name: plain["sets"][place].get(name) for name in _LOAD_FIELDS}


def _lost(accepted: AcceptedLoad, slot_key: str, slot: Slot | None) -> str:
    said = f"The load accepted for {slot_key}, {_plain(accepted.load.value)} {accepted.load.unit}, is left out:"
    if slot is None:
        return f"{said} the session has no such slot any more."
    if slot.exercise != accepted.exercise:
        return f"{said} it was for {accepted.exercise}, and the slot has {slot.exercise} now."
    if asked_of(slot) != accepted.asked:
        return f"{said} the slot asks for something else now."
    return ""


def _loaded(slot: Slot, accepted: AcceptedLoad | None) -> Slot:
    if accepted is None:
        return slot
    sets = tuple(
        replace(eased, load=accepted.load) if place in accepted.groups else eased
        for place, group in enumerate(slot.sets)
        for eased in (_eased(group, place, accepted),)
    )
    return replace(slot, sets=sets)


def _eased(group: SetGroup, place: int, accepted: AcceptedLoad) -> SetGroup:
    """Take no more sets, and no harder ones, than were accepted; warm-ups are left as they are."""
    if not group.counts_as_work:
        return group
    if place < len(accepted.counts):
        group = replace(group, count=min(group.count, accepted.counts[place]))
    return group if accepted.rpe_most is None else _no_harder(group, accepted.rpe_most)


def _no_harder(group: SetGroup, rpe_most: Decimal) -> SetGroup:
    if group.in_reserve is not None:
        return replace(group, in_reserve=max(group.in_reserve, RPE_MAX - rpe_most))
    if group.to_limit or group.kind == "to_limit":
        # Without a number of repetitions there is nothing to do but the limit.
        if group.reps_low is None:
            return group
        return replace(group, to_limit=False, kind="work" if group.kind == "to_limit" else group.kind, rpe=rpe_most)
    return replace(group, rpe=rpe_most if group.rpe is None else min(group.rpe, rpe_most))


def _plain(value: Decimal) -> str:
    return format(value.normalize(), "f")
