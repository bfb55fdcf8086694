"""The business's own reckoning of days and weeks."""

from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal

from coaching.measures.local_calendar import local_date_of, week_start_of
from coaching.models import Business
from coaching.tenancy.scope import current_business_id


@dataclass(frozen=True, slots=True)
class BusinessCalendar:
    """When a business's weeks start, its days end, its sessions count as missed, and when they are part done."""

    week_start: int
    day_ends_at: time
    grace_h: int
    part_done_below_ratio: Decimal

    def today(self, now: datetime, zone_name: str) -> date:
        """Return the local date of an instant in a client's zone."""
        return local_date_of(now, zone_name, self.day_ends_at)

    def week_of(self, day: date) -> date:
        """Return the first day of the week that holds a day."""
        return week_start_of(day, self.week_start)


def get_business_calendar() -> BusinessCalendar:
    """Return the calendar of the business in scope."""
    row = Business.objects.values_list("week_start", "day_ends_at", "grace_h", "part_done_below_ratio").get(
        id=current_business_id()
    )
    return BusinessCalendar(*row)
