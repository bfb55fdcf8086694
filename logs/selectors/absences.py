"""A client's absences, which stay out of what is compared."""

from datetime import date
from uuid import UUID

from coaching.measures.local_calendar import DateSpan
from coaching.models import Absence


def absence_spans(*, client_id: UUID, first: date, last: date) -> list[DateSpan]:
    """Return the absences that touch some days, in no order."""
    rows = Absence.objects.filter(client_id=client_id, starts_on__lte=last, ends_on__gte=first)
    return [DateSpan(starts_on, ends_on) for starts_on, ends_on in rows.values_list("starts_on", "ends_on")]
