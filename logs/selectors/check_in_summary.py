"""What a client's check-ins say; the same number of statements whatever their number."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final, cast
from uuid import UUID

from coaching.measures.baselines import Cadence
from coaching.policy import Principal
from coaching.screening.care_groups import care_groups_of, switched_off
from coaching.selectors.check_in_forms import find_asked_forms
from coaching.selectors.clients import get_client
from logs.analysis.check_in_scales import CheckInEntry, Questions
from logs.analysis.check_in_summary import CheckInSummary, check_in_summary
from logs.models import CheckIn
from logs.selectors.absences import absence_spans
from programs.selectors.business_calendar import get_business_calendar

_BEFORE: Final = timedelta(days=120)
"""Days of check-ins before those shown, for baselines: eight weekly forms with weeks missed, or 28 days. Practice."""

_COLUMNS: Final = (
    "local_date",
    "sleep",
    "fatigue",
    "stress",
    "soreness",
    "resting_hr_bpm",
    "hrv_rmssd_ms",
    "bodyweight_kg",
    "form_id",
    "form_version",
    "answers",
)


@dataclass(frozen=True, slots=True)
class ClientCheckIns:
    """A client's check-ins summed up on their local date of today."""

    client_id: UUID
    today: date
    days: int
    summary: CheckInSummary


def get_check_in_summary(*, actor: Principal, client_id: UUID, days: int, now: datetime) -> ClientCheckIns:
    """Return what a client's check-ins of the last days say against their earlier ones.

    Raises:
        NotFound: there is no such client that the caller may see.
    """
    client = get_client(actor=actor, client_id=client_id)
    today = get_business_calendar().today(now, client["time_zone"])
    since = today - timedelta(days=days - 1) - _BEFORE
    rows = _check_ins(client_id, since, today)
    forms = find_asked_forms(texts={str(row["form_id"]) for row in rows if row["form_id"] is not None})
    questions: Questions = {(form.id, number): asked for form in forms.values() for number, asked in form.versions}
    cadences = {form.id: cast("Cadence", form.cadence) for form in forms.values()}
    groups = care_groups_of(client["care_groups"], birth_date=client["birth_date"], today=today)
    summary = check_in_summary(
        [_entry(_without_hidden_weight(row, client), cadences) for row in rows],
        questions,
        today=today,
        days=days,
        care_groups=groups,
        away=absence_spans(client_id=client_id, first=since, last=today),
    )
    return ClientCheckIns(client_id=client_id, today=today, days=days, summary=summary)


def _check_ins(client_id: UUID, first: date, last: date) -> list[dict[str, Any]]:
    rows: Any = CheckIn.objects.filter(
        client_id=client_id, deleted_at__isnull=True, local_date__range=(first, last)
    ).order_by("local_date", "id")
    return list(rows.values(*_COLUMNS))


def _without_hidden_weight(row: dict[str, Any], client: dict[str, Any]) -> dict[str, Any]:
    """Leave out what somebody weighed while care switched it off, as before they were 18."""
    groups = care_groups_of(client["care_groups"], birth_date=client["birth_date"], today=row["local_date"])
    return {**row, "bodyweight_kg": None} if switched_off("bodyweight", groups) else row


def _entry(row: dict[str, Any], cadences: dict[str, Cadence]) -> CheckInEntry:
    form_id = "" if row["form_id"] is None else str(row["form_id"])
    return CheckInEntry(
        **{**row, "form_id": form_id, "form_version": row["form_version"] or 0}, form_cadence=cadences.get(form_id)
    )
