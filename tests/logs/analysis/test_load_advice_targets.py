from decimal import Decimal
from typing import Any

from logs.analysis.load_advice_targets import slot_target


def group(**fields: Any) -> dict[str, Any]:
    line = {"count": 1, "kind": "work", "reps_low": 5, "load": {"kind": "absolute", "load_kg": "80"}}
    resolved = {"load_status": "resolved", "load_kg": "80", "load_lb": "176.37", "load_unit": "kg", "resolved_from": ""}
    return line | resolved | fields


def absolute(kg: str, **fields: Any) -> dict[str, Any]:
    return group(load={"kind": "absolute", "load_kg": kg}, load_kg=kg, **fields)


def test_a_top_set_leads_and_its_back_offs_hang_on_it() -> None:
    back_off = group(count=3, kind="back_off", load={"kind": "relative_to_top", "pct": "-10"}, load_kg=None)
    found = slot_target(
        {"sets": [group(count=2, kind="warm_up"), group(kind="top", reps_low=3, rpe="8"), back_off]}, "kg"
    )
    assert found is not None
    assert (found.groups, found.set_numbers, found.alone) == ((1,), frozenset({3}), False)
    assert (found.reps_low, found.reps_high, found.reserve) == (3, 3, 2)


def test_the_heaviest_work_sets_lead_and_equal_ones_go_together() -> None:
    found = slot_target({"sets": [absolute("70"), absolute("80"), absolute("80", count=2)]}, "kg")
    assert found is not None
    assert (found.groups, found.set_numbers, found.sets) == ((1, 2), frozenset({2, 3, 4}), 3)


def test_a_last_set_to_the_limit_takes_the_load_without_leading() -> None:
    found = slot_target({"sets": [group(count=2), group(to_limit=True)]}, "kg")
    assert found is not None
    assert (found.groups, found.sets, found.to_limit, found.alone) == ((0, 1), 2, False, False)


def test_an_accepted_load_is_looked_through() -> None:
    instead = {"load": {"kind": "absolute", "load_kg": "80"}, "load_kg": "80", "load_unit": "kg"}
    found = slot_target({"sets": [absolute("85") | {"instead_of": instead}]}, "kg")
    plain = slot_target({"sets": [group()]}, "kg")
    assert found == plain


def test_bands_and_loads_of_the_day_have_no_target() -> None:
    assert slot_target({"sets": [group(load={"kind": "band", "text": "red"})]}, "kg") is None
    assert slot_target({"sets": [group(load={"kind": "same_as", "slot_key": "A1"})]}, "kg") is None
    assert slot_target({"sets": [group(kind="warm_up")]}, "kg") is None


def test_a_load_in_the_other_unit_is_read_in_the_clients() -> None:
    found = slot_target({"sets": [group()]}, "lb")
    assert found is not None
    assert found.resolved == Decimal("176.37")
