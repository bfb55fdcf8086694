"""Reference loads, and the sessions that resolve against them."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from coaching.measures.load import Load
from coaching.refusals import Invalid, NotFound, UnknownObject
from coaching.tenancy.scope import business_scope
from programs.actions.performances import Performance, record_performance
from programs.actions.reference_loads import SameDayReference, record_reference_load
from programs.models import PlannedSession, ReferenceLoad
from tests.programs.documents import MONDAY, acting, assign, content, published, sessions
from tests.scenario import NOON, Cast


def record(cast: Cast, load: Load, *, on: date = date(2031, 3, 1), **more: Any) -> ReferenceLoad:
    return record_reference_load(
        actor=acting(cast.coach),
        client_id=more.pop("client_id", cast.anna.id),
        exercise=more.pop("exercise", "back-squat"),
        kind=more.pop("kind", "training_max"),
        load=load,
        on_date=on,
        now=NOON,
    )


def work_set(row: PlannedSession) -> dict[str, Any]:
    shown: dict[str, Any] = row.prescribed["blocks"][0]["slots"][0]["sets"][1]
    return shown


def test_a_load_in_pounds_is_kept_as_entered_and_in_kilograms_exactly(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = ReferenceLoad.objects.get(id=record(cast, Load(Decimal(225), "lb")).id)
    assert (row.load, row.unit) == (Decimal(225), "lb")
    assert row.load_kg == Decimal(225) * Decimal("0.45359237")


def test_sessions_to_come_resolve_anew_and_what_was_done_stays(cast: Cast) -> None:
    document = content(weeks=1, kind="percent", of="training_max", pct="80")
    with business_scope(cast.business_id):
        assign(cast.coach, published(document), cast.anna.id, cast.ben.id)
        before = sessions(cast.anna.id)
        assert {work_set(row)["load_status"] for row in before} == {"needs_reference"}
        record_performance(performances=[Performance(before[0].id, MONDAY, 4, finished=True)], now=NOON)
        record(cast, Load(Decimal(100), "kg"))
        rows, bens = sessions(cast.anna.id), sessions(cast.ben.id)
    assert work_set(rows[0])["load_status"] == "needs_reference"
    assert {work_set(row)["load_kg"] for row in rows[1:]} == {"80"}
    assert {work_set(row)["load_status"] for row in bens} == {"needs_reference"}


def test_the_latest_reference_counts(cast: Cast) -> None:
    document = content(weeks=1, kind="percent", of="training_max", pct="80")
    with business_scope(cast.business_id):
        record(cast, Load(Decimal(120), "kg"), on=date(2031, 3, 3))
        record(cast, Load(Decimal(100), "kg"), on=date(2031, 2, 3))
        assign(cast.coach, published(document), cast.anna.id)
        assert work_set(sessions(cast.anna.id)[0])["load_kg"] == "95"


def test_bad_references_are_refused(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        record(cast, Load(Decimal(100), "kg"))
        with pytest.raises(SameDayReference):
            record(cast, Load(Decimal(110), "kg"))
        with pytest.raises(Invalid, match="future"):
            record(cast, Load(Decimal(100), "kg"), on=date(2031, 3, 6))
        with pytest.raises(Invalid, match="above zero"):
            record(cast, Load(Decimal(-10), "kg"), kind="tested")
        with pytest.raises(UnknownObject):
            record(cast, Load(Decimal(100), "kg"), exercise="no-such-lift")
        for client in (cast.carl, neighbour.anna):
            with pytest.raises(NotFound):
                record(cast, Load(Decimal(100), "kg"), client_id=client.id)
