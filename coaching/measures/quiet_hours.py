"""Hours of the night in which nobody is written to."""

from datetime import UTC, datetime, time, timedelta

from coaching.measures.local_calendar import local_instant, zone


def outside_quiet_hours(instant: datetime, zone_name: str, quiet_from: time, quiet_until: time) -> datetime:
    """Find the first instant, from a given one on, outside quiet hours.

    Args:
        instant: An aware instant.
        zone_name: The receiver's IANA zone.
        quiet_from: Wall time at which quiet begins; from here on nothing is sent.
        quiet_until: Wall time at which it ends, the next morning if it is the earlier of the two. Equal to
            `quiet_from`: there are no quiet hours.

    Returns:
        The instant itself when it is outside; else the end of quiet, in UTC. When the clock shows that end
        twice, the showing that lies ahead.

    Raises:
        UnknownZoneError: There is no such zone.
    """
    wall = instant.astimezone(zone(zone_name))
    now = wall.time()
    over_midnight = quiet_until < quiet_from
    evening, morning = now >= quiet_from, now < quiet_until
    quiet = evening or morning if over_midnight else evening and morning
    if not quiet:
        return instant
    day = wall.date() + timedelta(days=1 if over_midnight and evening else 0)
    end = local_instant(day, quiet_until, zone_name)
    if end <= instant:
        end = datetime.combine(day, quiet_until, zone(zone_name)).replace(fold=1).astimezone(UTC)
    return end
