"""What a person's check-ins say against their own earlier ones: a description, with what is missing said as missing."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from operator import attrgetter

from coaching.measures.baselines import DatedValue
from coaching.measures.constants import HRV_DAYS, RESTING_HR_DAYS
from coaching.measures.heart_rate_variability import WeeklyHrv, weekly_hrv
from coaching.measures.local_calendar import DateSpan
from coaching.measures.resting_heart_rate import RestingHeartRate, resting_heart_rate
from coaching.screening.care_groups import switched_off
from logs.analysis.bodyweight_trend import BodyweightTrend, bodyweight_trend
from logs.analysis.check_in_scales import (
    ITEMS,
    CheckInEntry,
    Questions,
    ScaleSummary,
    Window,
    Words,
    question_summaries,
    scale_summary,
    values_by_day,
    wellness_sum,
    words,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckInSummary:
    """All that the check-ins say.

    Attributes:
        check_ins: How many there are within the days asked for.
        items: The four scales.
        wellness_sum: Their sum, 4 to 28, on days with all four.
        questions: The business's own scales and numbers.
        words: Its other answers, newest first.
        resting_heart_rate: The last three days; None while care switches it off.
        heart_rate_variability: The last seven; None likewise.
        bodyweight: Its trend; None likewise.
        heart_rate_off: Why heart rate is switched off; empty otherwise.
        bodyweight_off: Why bodyweight is; empty otherwise.
        away_days: Days of absence among the entries, left out of every baseline.
    """

    check_ins: int
    items: tuple[ScaleSummary, ...]
    wellness_sum: ScaleSummary
    questions: tuple[ScaleSummary, ...]
    words: tuple[Words, ...]
    resting_heart_rate: RestingHeartRate | None
    heart_rate_variability: WeeklyHrv | None
    bodyweight: BodyweightTrend | None
    heart_rate_off: str
    bodyweight_off: str
    away_days: int


def check_in_summary(
    entries: Sequence[CheckInEntry],
    questions: Questions,
    *,
    today: date,
    days: int,
    care_groups: Collection[str] = (),
    away: Sequence[DateSpan] = (),
) -> CheckInSummary:
    """Summarise a person's check-ins.

    Args:
        entries: Check-ins, several a day perhaps, of long enough before the days asked for.
        questions: The questions of each form and version that was answered.
        today: The person's local date; later entries are left out.
        days: Days shown, today the last.
        care_groups: The person's, which switch outputs off.
        away: Absences, which are left out of every baseline.

    Returns:
        Each figure with its baseline and n, or the reason why there is none.

    Raises:
        BaselineError, DayAwareMeanError, HeartRateVariabilityError: Impossible values.

    Source: as each measure says.
    """
    known = [entry for entry in entries if entry.local_date <= today]
    window = Window(today - timedelta(days=days - 1), today, away)
    heart_rate_off = switched_off("heart_rate", care_groups)
    bodyweight_off = switched_off("bodyweight", care_groups)
    shown_entries = [entry for entry in known if entry.local_date >= window.first]
    return CheckInSummary(
        check_ins=len(shown_entries),
        items=tuple(scale_summary(item, known, attrgetter(item), window) for item in ITEMS),
        wellness_sum=scale_summary("wellness_sum", known, wellness_sum, window),
        questions=tuple(question_summaries(known, questions, window)),
        words=tuple(words(shown_entries, questions)),
        resting_heart_rate=None if heart_rate_off else _resting(known, window),
        heart_rate_variability=None if heart_rate_off else _variability(known, window),
        bodyweight=None if bodyweight_off else _weight(known, today),
        heart_rate_off=heart_rate_off,
        bodyweight_off=bodyweight_off,
        away_days=len({entry.local_date for entry in known if window.is_away(entry.local_date)}),
    )


def _usual(values: Sequence[DatedValue], window: Window, recent_days: int) -> list[DatedValue]:
    """Leave out absent days, but not the days that are compared."""
    recent = window.today - timedelta(days=recent_days)
    return [entry for entry in values if entry.local_date > recent or not window.is_away(entry.local_date)]


def _resting(entries: Sequence[CheckInEntry], window: Window) -> RestingHeartRate:
    values = values_by_day(entries, attrgetter("resting_hr_bpm"))
    return resting_heart_rate(_usual(values, window, RESTING_HR_DAYS), window.today)


def _variability(entries: Sequence[CheckInEntry], window: Window) -> WeeklyHrv:
    values = values_by_day(entries, lambda one: one.hrv_rmssd_ms or None)
    return weekly_hrv(_usual(values, window, HRV_DAYS), window.today)


def _weight(entries: Sequence[CheckInEntry], today: date) -> BodyweightTrend:
    return bodyweight_trend(values_by_day(entries, attrgetter("bodyweight_kg")), today)
