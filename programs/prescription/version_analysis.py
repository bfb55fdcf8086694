"""The analysis of a whole version: session by session, week by week, and how each week differs from the last."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from programs.prescription.analysis import CAUTIONS, AnalysisPolicy, SessionAnalysis, TensionTotal, analyse_session
from programs.prescription.constants import S_PER_MIN
from programs.prescription.findings import Finding, has_errors
from programs.prescription.load_rise_findings import load_rise_findings
from programs.prescription.structure import ExerciseFacts, VersionContent, Week
from programs.prescription.version_diff import Change
from programs.prescription.volume import Volume, volume
from programs.prescription.week_changes import WeekChanges, week_changes
from programs.prescription.week_findings import ReadWeek, week_findings
from programs.prescription.week_ranges import WeekReading, read_week


@dataclass(frozen=True, slots=True, kw_only=True)
class DayAnalysis:
    """One day's session."""

    day_number: int
    session: SessionAnalysis


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekAnalysis:
    """One week: its sessions, their volume together against the published ranges, and what it changes.

    ``changes`` holds it against the working week before it, whose number is ``compared_with``.
    """

    week_number: int
    deload: bool
    days: tuple[DayAnalysis, ...]
    volume: Volume
    tension: TensionTotal
    low_min: Decimal
    high_min: Decimal
    readings: tuple[WeekReading, ...]
    compared_with: int | None
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionAnalysis:
    """A whole version, session by session and week by week; ``findings`` holds every one, in order."""

    weeks: tuple[WeekAnalysis, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def has_errors(self) -> bool:
        """Whether anything in the version cannot be performed, which blocks publishing."""
        return has_errors(self.findings)


def analyse_version(
    content: VersionContent,
    exercises: Mapping[str, ExerciseFacts],
    *,
    minutes_available: int | None = None,
    policy: AnalysisPolicy | None = None,
) -> VersionAnalysis:
    """Analyse every session and week of a version. A version without a session is an error finding.

    Args:
        content: what is prescribed.
        exercises: the catalogue's facts by exercise key; a key that is missing is an error finding.
        minutes_available: the minutes that the clients have, if known.
        policy: how time is reckoned and whom it is for.
    """
    names = {key: facts.name for key, facts in exercises.items()}
    changes = week_changes(content.weeks, names)
    weeks = tuple(
        _week(
            week,
            tuple(
                DayAnalysis(
                    day_number=day.day_number,
                    session=analyse_session(
                        day.session,
                        exercises,
                        minutes_available=minutes_available,
                        policy=policy,
                        pointer=f"#/weeks/{index}/days/{day_index}",
                    ),
                )
                for day_index, day in enumerate(week.days)
            ),
            volume([day.session for day in week.days], exercises),
            changed,
        )
        for index, (week, changed) in enumerate(zip(content.weeks, changes, strict=True))
    )
    found = [finding for week in weeks for day in week.days for finding in day.session.findings]
    found += week_findings(
        ReadWeek(week_number=week.week_number, pointer=f"#/weeks/{index}", volume=week.volume, readings=week.readings)
        for index, week in enumerate(weeks)
    )
    found += load_rise_findings(content)
    if not any(week.days for week in weeks):
        found.append(_nothing_prescribed())
    return VersionAnalysis(weeks=weeks, findings=tuple(found))


def _week(week: Week, days: tuple[DayAnalysis, ...], counted: Volume, changed: WeekChanges) -> WeekAnalysis:
    timelines = [day.session.timeline for day in days]
    tension = _sum_tension([day.session.tension for day in days])
    return WeekAnalysis(
        week_number=week.week_number,
        deload=week.deload,
        days=days,
        volume=counted,
        tension=tension,
        low_min=_minutes(sum(timeline.low_s for timeline in timelines)),
        high_min=_minutes(sum(timeline.high_s for timeline in timelines)),
        readings=read_week(counted, tension.high_s, deload=week.deload),
        compared_with=changed.compared_with,
        changes=changed.changes,
    )


def _sum_tension(totals: Sequence[TensionTotal]) -> TensionTotal:
    return TensionTotal(
        low_s=sum(total.low_s for total in totals),
        high_s=sum(total.high_s for total in totals),
        unknown_sets=sum(total.unknown_sets for total in totals),
    )


def _minutes(seconds: int) -> Decimal:
    return (Decimal(seconds) / S_PER_MIN).quantize(Decimal("0.1"), rounding=ROUND_HALF_EVEN)


def _nothing_prescribed() -> Finding:
    return Finding(
        severity="error",
        code="nothing_prescribed",
        message="This version has no session.",
        pointer="#/weeks",
        rule="A version that is assigned asks for something.",
        source="Practice.",
        suggestion="Add a week with at least one day.",
        figure=Decimal(0),
        unit="sessions",
    )
