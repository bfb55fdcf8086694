"""The analysis of a session: timeline, slots, volume and findings in one value.

Cautions stand with the data, in plain words. Nothing here decides anything: errors alone, which nobody could
perform, keep a version from being published. `programs.prescription.version_analysis` puts weeks together.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from programs.prescription.conditioning import Conditioning, conditioning
from programs.prescription.conditioning_findings import conditioning_findings
from programs.prescription.constants import S_PER_MIN
from programs.prescription.findings import Finding, has_errors
from programs.prescription.muscle_rest_findings import muscle_rest_findings
from programs.prescription.rest_findings import rest_findings
from programs.prescription.rests import EffectiveRest
from programs.prescription.session_findings import block_findings, duration_findings, empty_findings
from programs.prescription.set_work import unknown_exercise
from programs.prescription.slot_findings import slot_findings, unknown_exercise_findings
from programs.prescription.slot_work import SetGroupWork, slot_work
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot
from programs.prescription.timeline import Timeline, simulate
from programs.prescription.timeline_policy import TimelinePolicy
from programs.prescription.vocabulary import RESTED_BLOCK_KINDS
from programs.prescription.volume import Volume, set_times, volume

CAUTIONS: Final = (
    "Times are simulated from what is written, and from assumptions where nothing is; people differ.",
    "The stimulus readings are a coaching heuristic: no trial shows that one tempo builds more than another.",
    "Findings inform a coach's judgement. They do not say that a session is safe for a person.",
)
"""What is said beside every analysis. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AnalysisPolicy:
    """What may be changed about an analysis."""

    timeline: TimelinePolicy = field(default_factory=TimelinePolicy)
    novice: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotAnalysis:
    """One slot: what its sets ask for and what rest it has."""

    slot_key: str
    exercise: str
    groups: tuple[SetGroupWork, ...]
    rest: EffectiveRest


@dataclass(frozen=True, slots=True, kw_only=True)
class TensionTotal:
    """Time under tension over all working sets, both sides, with the sets of which it is not known."""

    low_s: int
    high_s: int
    unknown_sets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionAnalysis:
    """Everything computed of one session."""

    title: str
    template_key: str
    timeline: Timeline
    slots: tuple[SlotAnalysis, ...]
    volume: Volume
    tension: TensionTotal
    findings: tuple[Finding, ...]
    conditioning: tuple[Conditioning, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def has_errors(self) -> bool:
        """Whether anything in the session cannot be performed."""
        return has_errors(self.findings)


def analyse_session(
    session: Session,
    exercises: Mapping[str, ExerciseFacts],
    *,
    minutes_available: int | None = None,
    policy: AnalysisPolicy | None = None,
    pointer: str = "#",
) -> SessionAnalysis:
    """Analyse one session.

    Args:
        session: what is prescribed.
        exercises: the catalogue's facts by exercise key; a key that is missing is an error finding.
        minutes_available: the minutes that the client has, if known.
        policy: how time is reckoned and whom it is for.
        pointer: the session's place in its document, as findings point at it.
    """
    settings = policy or AnalysisPolicy()
    timeline = simulate(session, exercises, settings.timeline)
    works = {
        slot.slot_key: slot_work(slot, _facts(slot, exercises, settings), settings.timeline, _clock_s(block))
        for block in session.blocks
        for slot in block.slots
    }
    findings = [*empty_findings(session, pointer), *duration_findings(session, timeline, pointer, minutes_available)]
    for index, block in enumerate(session.blocks):
        place = f"{pointer}/blocks/{index}"
        findings += block_findings(block, timeline.blocks[index], works, exercises, place)
        if block.entry is not None and block.entry.exercise not in exercises:
            findings += unknown_exercise_findings(block.entry.exercise, f"{place}/entry")
        for slot_index, slot in enumerate(block.slots):
            slot_place = f"{place}/slots/{slot_index}"
            findings += _exercise_findings(slot, exercises, works[slot.slot_key], slot_place)
            if block.kind in RESTED_BLOCK_KINDS:
                rest = timeline.effective_rests.get(slot.slot_key)
                findings += rest_findings(slot, exercises.get(slot.exercise), rest, slot_place, novice=settings.novice)
    findings += muscle_rest_findings(session, timeline.events, exercises, pointer, novice=settings.novice)
    pieces = conditioning(session, timeline, exercises, settings.timeline)
    for piece in pieces:
        block = session.blocks[piece.block_index]
        findings += conditioning_findings(block, piece, exercises, f"{pointer}/blocks/{piece.block_index}")
    return SessionAnalysis(
        title=session.title,
        template_key=session.template_key,
        timeline=timeline,
        slots=tuple(_slot_analysis(slot, works[slot.slot_key], timeline) for slot in session.slots),
        volume=volume([session], exercises),
        tension=_tension(session, works),
        findings=tuple(findings),
        conditioning=pieces,
    )


def _exercise_findings(
    slot: Slot, exercises: Mapping[str, ExerciseFacts], groups: tuple[SetGroupWork, ...], place: str
) -> list[Finding]:
    facts = exercises.get(slot.exercise)
    if facts is None:
        return list(unknown_exercise_findings(slot.exercise, place))
    return list(slot_findings(slot, facts, groups, place))


def _slot_analysis(slot: Slot, groups: tuple[SetGroupWork, ...], timeline: Timeline) -> SlotAnalysis:
    nothing = EffectiveRest(sets=0, reason="No working sets: there is nothing to rest between.")
    return SlotAnalysis(
        slot_key=slot.slot_key,
        exercise=slot.exercise,
        groups=groups,
        rest=timeline.effective_rests.get(slot.slot_key, nothing),
    )


def _tension(session: Session, works: Mapping[str, tuple[SetGroupWork, ...]]) -> TensionTotal:
    low_s = high_s = unknown = 0
    for block in session.blocks:
        for slot in block.slots:
            for group, work in zip(slot.sets, works[slot.slot_key], strict=False):
                if not group.counts_as_work:
                    continue
                times = set_times(block, slot, group)
                if work.tut_s is None:
                    unknown += times
                    continue
                sides = 2 if slot.per_side else 1
                low_s += times * sides * work.tut_s[0]
                high_s += times * sides * work.tut_s[1]
    return TensionTotal(low_s=low_s, high_s=high_s, unknown_sets=unknown)


def _facts(slot: Slot, exercises: Mapping[str, ExerciseFacts], settings: AnalysisPolicy) -> ExerciseFacts:
    return exercises.get(slot.exercise) or unknown_exercise(slot.exercise, settings.timeline)


def _clock_s(block: Block) -> int:
    if block.kind == "interval":
        return block.work_s or 0
    return (block.minutes or 0) * S_PER_MIN if block.kind == "steady" else 0
