"""Local dates, wall clocks and business weeks.

Two rules hold at every change of the clock: a wall time that a zone skips is read as the first instant that exists
after it, and a wall time that a zone shows twice is read as its first showing.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from difflib import get_close_matches
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from coaching.measures.constants import DAYS_PER_WEEK

_ONE_DAY = timedelta(days=1)
_ONE_SECOND = timedelta(seconds=1)


class LocalCalendarError(ValueError):
    """A date, week start or instant that cannot be placed on a local calendar."""

    code = "invalid_date"


class UnknownZoneError(LocalCalendarError):
    """A time zone name that the time zone database does not hold."""

    code = "unknown_time_zone"


@dataclass(frozen=True, slots=True)
class DateSpan:
    """Local dates from `first` to `last`, both inside; `last` None means that the end is not known yet.

    Raises:
        LocalCalendarError: The last day is before the first.
    """

    first: date
    last: date | None

    def __post_init__(self) -> None:
        if self.last is not None and self.last < self.first:
            raise LocalCalendarError(f"The last day, {self.last}, is before the first, {self.first}; swap them.")

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.first <= day and (self.last is None or day <= self.last)


def zone(zone_name: str) -> ZoneInfo:
    """Look up a time zone.

    Args:
        zone_name: A name of the IANA time zone database, such as `Europe/Paris`.

    Returns:
        The zone.

    Raises:
        UnknownZoneError: There is no such zone; the sentence names near ones.
    """
    try:
        return ZoneInfo(zone_name)
    except (ZoneInfoNotFoundError, ValueError, OSError, TypeError, AttributeError) as fault:
        raise UnknownZoneError(_unknown_zone_sentence(str(zone_name))) from fault


def local_instant(day: date, wall_time: time, zone_name: str) -> datetime:
    """Find the instant at which a zone's wall clock first shows a date and time.

    Args:
        day: The local date.
        wall_time: The wall time, without a zone.
        zone_name: The IANA zone.

    Returns:
        The instant in UTC. In a gap (clock put forward, or a skipped day) the first instant that exists after the
        time asked for; in a fold (clock put back) the first occurrence.

    Raises:
        UnknownZoneError: There is no such zone.
        LocalCalendarError: The wall time carries a zone of its own.
    """
    if wall_time.tzinfo is not None:
        raise LocalCalendarError("Give the wall time without a zone; the zone is named beside it.")
    tz = zone(zone_name)
    wall = datetime.combine(day, wall_time.replace(fold=0))
    instant = wall.replace(tzinfo=tz).astimezone(UTC)
    if _wall_clock(instant, tz) == wall:
        return instant
    # zoneinfo reads a skipped time with the offset before the gap (fold 0) or after it (fold 1): the change of
    # the clock lies between those two instants.
    before = wall.replace(tzinfo=tz, fold=1).astimezone(UTC)
    return _first_showing_at_least(wall, before, instant, tz)


def local_date_of(instant: datetime, zone_name: str, day_ends_at: time = time(0)) -> date:
    """Find the local date to which an instant belongs.

    Args:
        instant: An aware instant.
        zone_name: The IANA zone in force for the client at that instant.
        day_ends_at: Wall time before which an instant still belongs to the day before (a business's default 04:00).

    Returns:
        The local date; never one that the zone skipped.

    Raises:
        UnknownZoneError: There is no such zone.
        LocalCalendarError: The instant has no offset.
    """
    if instant.tzinfo is None:
        raise LocalCalendarError("An instant needs an offset from UTC, such as 2031-03-04T07:02:00+01:00.")
    tz = zone(zone_name)
    wall = _wall_clock(instant, tz)
    if wall.time() >= day_ends_at:
        return wall.date()
    day = wall.date() - _ONE_DAY
    exists = _wall_clock(local_instant(day, time(0), zone_name), tz).date() == day
    return day if exists else day - _ONE_DAY


def week_start_of(day: date, week_start: int) -> date:
    """Find the first day of the business week that holds a day.

    Args:
        day: Any local date.
        week_start: The business's first weekday, 0 = Monday to 6 = Sunday.

    Returns:
        The week's first day.

    Raises:
        LocalCalendarError: The week start is not 0 to 6.
    """
    if week_start not in range(DAYS_PER_WEEK):
        raise LocalCalendarError(f"The week starts on a weekday from 0 (Monday) to 6 (Sunday), not {week_start}.")
    return day - timedelta(days=(day.weekday() - week_start) % DAYS_PER_WEEK)


def business_week(day: date, week_start: int) -> tuple[date, date]:
    """Find the business week that holds a day.

    Args:
        day: Any local date.
        week_start: The business's first weekday, 0 = Monday to 6 = Sunday.

    Returns:
        The week's first and last day.

    Raises:
        LocalCalendarError: The week start is not 0 to 6.
    """
    first = week_start_of(day, week_start)
    return first, first + timedelta(days=DAYS_PER_WEEK - 1)


def _wall_clock(instant: datetime, tz: ZoneInfo) -> datetime:
    return instant.astimezone(tz).replace(tzinfo=None, fold=0)


def _first_showing_at_least(wall: datetime, low: datetime, high: datetime, tz: ZoneInfo) -> datetime:
    """Halve the span until the second at which the clock jumps past the skipped time is found."""
    low, high = low.replace(microsecond=0), high.replace(microsecond=0)
    while high - low > _ONE_SECOND:
        middle = low + timedelta(seconds=(high - low) // _ONE_SECOND // 2)
        if _wall_clock(middle, tz) >= wall:
            high = middle
        else:
            low = middle
    return high


def _unknown_zone_sentence(zone_name: str) -> str:
    near = get_close_matches(zone_name, sorted(available_timezones()), n=3, cutoff=0.6)
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    return f"There is no time zone {zone_name!r}; give an IANA name such as Europe/Paris.{hint}"
