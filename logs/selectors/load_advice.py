"""What comes next for clients, with a load advised for each slot; as many statements for one client as for all."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any, Final, cast
from uuid import UUID

from django.db.models import QuerySet

from coaching.measures.load import kg_to_lb
from coaching.models import ClientState
from coaching.policy import Principal, client_rows
from coaching.screening.care_groups import Output, care_groups_of, switched_off
from logs.analysis.load_advice import load_advice
from logs.analysis.load_advice_basis import advice_basis
from logs.analysis.load_advice_facts import AdvisedSlot, HoldCode, LoadGrid, SlotHold, SlotTarget
from logs.analysis.load_advice_results import LoadAdvice
from logs.analysis.load_advice_returns import ReturnRule, return_rule
from logs.analysis.load_advice_targets import slot_target
from logs.analysis.strength import TempoClass
from logs.selectors.load_advice_facts import TrainingPast, training_past
from programs.models import PlannedSession, PlannedState
from programs.prescription.client_fit import hold_warnings
from programs.prescription.movement_holds import Hold
from programs.prescription.rest_findings import is_novice
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import ROUND_BLOCK_KINDS, LoadUnit
from programs.selectors.business_calendar import get_business_calendar
from programs.selectors.exercises import exercise_facts_with_ids
from programs.selectors.movement_holds import standing_holds
from programs.selectors.place_steps import steps_in_unit
from programs.selectors.planned_sessions import visible_planned_sessions

_SHOWN: Final = (
    "id",
    "client_id",
    "client__name",
    "client__coach_id",
    "client__unit",
    "client__time_zone",
    "client__training_since",
    "client__care_groups",
    "client__birth_date",
    "assignment_id",
    "week_number",
    "day_number",
    "template_key",
    "title",
    "deload",
    "local_date",
    "window_start",
    "window_end",
    "state",
    "place_id",
    "place__name",
    "place__load_steps",
    "prescribed",
    "slot_classes",
    "row_version",
)
_PLACES: Final = Decimal("0.000001")
_HELD: Final = frozenset({"training_held", "movement_held", "no_increase"})


@dataclass(frozen=True, slots=True)
class SlotAdvice:
    """Advice for a slot; `slot` is the slot as the session has it."""

    slot: Mapping[str, Any]
    facts: AdvisedSlot
    advice: LoadAdvice
    basis: str


@dataclass(frozen=True, slots=True)
class SessionAdvice:
    """Advice for a session; `row` has the session's columns, `today` is the client's local date."""

    row: Mapping[str, Any]
    today: date
    unit: LoadUnit
    returns: ReturnRule
    slots: tuple[SlotAdvice, ...]


def next_sessions(
    *, actor: Principal, client_id: UUID | None = None, coach_id: UUID | None = None
) -> QuerySet[PlannedSession]:
    """Return the next open session of each client whom the caller may see: the earliest that is still to be done.

    Args:
        actor: who calls.
        client_id: only this client's.
        coach_id: only those of this coach's clients.
    """
    rows = visible_planned_sessions(actor).filter(state=PlannedState.PLANNED).exclude(client__state=ClientState.ENDED)
    if client_id is not None:
        rows = rows.filter(client_id=client_id)
    if coach_id is not None:
        rows = rows.filter(client__coach_id=coach_id)
    return rows.order_by("client_id", "local_date", "week_number", "day_number", "id").distinct("client_id")


def sessions_to_advise(*, actor: Principal, planned_session_ids: Sequence[UUID]) -> QuerySet[PlannedSession]:
    """Return the sessions named, of clients whom the caller may see."""
    return PlannedSession.objects.filter(client_rows(actor), id__in=list(planned_session_ids))


def list_session_advice(*, sessions: QuerySet[PlannedSession], now: datetime) -> list[SessionAdvice]:
    """Return advice for sessions, in a constant number of statements.

    Args:
        sessions: which ones.
        now: the present instant; each client's day follows from it in their own zone.
    """
    rows = list(sessions.values(*_SHOWN))
    if not rows:
        return []
    calendar = get_business_calendar()
    todays = {row["client__time_zone"]: calendar.today(now, row["client__time_zone"]) for row in rows}
    named = exercise_facts_with_ids({slot["exercise"] for row in rows for _, slot in _slots(row)})
    past = training_past(
        units={row["client_id"]: row["client__unit"] for row in rows},
        exercises={exercise_id: facts.key for exercise_id, facts in named.values()},
        until=max(todays.values()),
    )
    holds = standing_holds(client_ids={row["client_id"] for row in rows})
    return [_session(row, todays[row["client__time_zone"]], named, past, holds) for row in rows]


def _session(
    row: Mapping[str, Any],
    today: date,
    named: Mapping[str, tuple[UUID, ExerciseFacts]],
    past: TrainingPast,
    holds: Mapping[UUID, tuple[Hold, ...]],
) -> SessionAdvice:
    client_id = row["client_id"]
    day = max(today, row["window_start"])
    returns = return_rule(
        past.trained_on.get(client_id, ()),
        day,
        fever_on=past.fever_on.get(client_id, ()),
        ill_on=past.ill_on.get(client_id, ()),
    )
    making = _Slots(row, today, day, past, holds.get(client_id, ()))
    slots = []
    for block_kind, slot in _slots(row):
        if slot["exercise"] not in named:
            continue
        facts = making.advised(slot, *named[slot["exercise"]], by_rounds=block_kind in ROUND_BLOCK_KINDS)
        slots.append(SlotAdvice(slot, facts, load_advice(facts, returns), advice_basis(facts, returns)))
    return SessionAdvice(row, today, row["client__unit"], returns, tuple(slots))


def _slots(row: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for block in row["prescribed"].get("blocks", ()):
        for slot in block["slots"]:
            yield block.get("kind", "straight"), slot


@dataclass(slots=True)
class _Slots:
    """A session's slots with what their advice is made from."""

    row: Mapping[str, Any]
    today: date
    day: date
    past: TrainingPast
    holds: tuple[Hold, ...]

    def advised(
        self, slot: Mapping[str, Any], exercise_id: UUID, facts: ExerciseFacts, *, by_rounds: bool
    ) -> AdvisedSlot:
        row = self.row
        target = None if by_rounds else slot_target(slot, row["client__unit"], planned=True)
        return AdvisedSlot(
            slot_key=slot["slot_key"],
            exercise=facts,
            target=target,
            day=self.day,
            tempo_class=self._tempo_class(slot, target),
            deload=row["deload"],
            place="" if row["place_id"] is None else str(row["place_id"]),
            novice=is_novice(row["client__training_since"], self.day),
            grid=self._grid(facts),
            exposures=self.past.exposures.get((row["client_id"], exercise_id), ()),
            holds=tuple(
                SlotHold(code=cast("HoldCode", warning.code), detail=warning.detail)
                for warning in hold_warnings([facts], self.holds)
                if warning.code in _HELD
            ),
            no_test=self._switched_off("maximum_test"),
        )

    def _tempo_class(self, slot: Mapping[str, Any], target: SlotTarget | None) -> TempoClass:
        planned = self.row["slot_classes"].get(slot["slot_key"]) or []
        number = 1 if target is None else min(target.set_numbers)
        return cast("TempoClass", planned[number - 1] if number <= len(planned) else "unspecified")

    def _grid(self, facts: ExerciseFacts) -> LoadGrid:
        unit: LoadUnit = self.row["client__unit"]
        steps = steps_in_unit(self.row["place__load_steps"] or {}, unit)
        return LoadGrid(
            unit=unit,
            step=steps.get(facts.loading),
            base=self._base(facts, unit),
            base_hidden=facts.load_basis == "added" and bool(self._switched_off("bodyweight")),
        )

    def _switched_off(self, output: Output) -> str:
        noted, birth_date = self.row["client__care_groups"], self.row["client__birth_date"]
        return switched_off(output, care_groups_of(noted, birth_date=birth_date, today=self.today))

    def _base(self, facts: ExerciseFacts, unit: LoadUnit) -> Decimal | None:
        if facts.load_basis != "added" or not facts.bodyweight_share:
            return Decimal(0)
        bodyweight = self.past.bodyweight_kg.get(self.row["client_id"])
        if bodyweight is None:
            return None
        moved = bodyweight * facts.bodyweight_share
        return (moved if unit == "kg" else kg_to_lb(moved)).quantize(_PLACES, ROUND_HALF_EVEN)
