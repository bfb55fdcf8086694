"""The analysis of a written session: findings stand at their line in the text, too, beside their place."""

from collections.abc import Mapping
from dataclasses import replace

from programs.prescription.analysis import AnalysisPolicy, SessionAnalysis, analyse_session
from programs.prescription.notation import ParseResult
from programs.prescription.structure import ExerciseFacts


def analyse_written(
    read: ParseResult,
    exercises: Mapping[str, ExerciseFacts],
    *,
    minutes_available: int | None = None,
    policy: AnalysisPolicy | None = None,
    pointer: str = "#",
) -> SessionAnalysis:
    """Analyse what was read of a written session, faults of the reading apart.

    Args:
        read: the text as it was read.
        exercises: the catalogue's facts by exercise key; a key that is missing is an error finding.
        minutes_available: the minutes that the client has, if known.
        policy: how time is reckoned and whom it is for.
        pointer: the session's place in its document, as findings point at it.
    """
    analysis = analyse_session(
        read.session, exercises, minutes_available=minutes_available, policy=policy, pointer=pointer
    )
    return replace(
        analysis,
        findings=tuple(
            replace(finding, line=read.line_of(f"#{finding.pointer.removeprefix(pointer)}"))
            for finding in analysis.findings
        ),
    )
