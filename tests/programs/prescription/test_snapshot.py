"""A session written out for one client."""

from decimal import Decimal
from typing import Any

import pytest

from coaching.measures.load import kg_to_lb
from programs.prescription.document import decode_session
from programs.prescription.loads import ReferenceLoad
from programs.prescription.snapshot import reference_exercises, session_frame, session_snapshot
from programs.prescription.structure import ExerciseFacts, Session

SQUAT = ExerciseFacts(key="back-squat", name="Back squat", pattern="squat", restful_end="shortened", loading="barbell")
ROW = ExerciseFacts(key="rowing", name="Rowing", pattern="locomotion", measure="metres", loading="machine_monitor")
FACTS = {"back-squat": SQUAT, "rowing": ROW}


def session(*groups: dict[str, Any], **block: Any) -> Session:
    slot = {"slot_key": "A1", "exercise": "back-squat", "sets": list(groups)}
    return decode_session({"blocks": [{"kind": "straight", "slots": [slot]} | block]})


def line(written: Session, *, unit: Any = "kg", **references: str) -> dict[str, Any]:
    kinds: Any = references.items()
    known = {kind: ReferenceLoad(kind=kind, load_kg=Decimal(load)) for kind, load in kinds}
    snapshot = session_snapshot(written, FACTS, {"back-squat": known}, unit=unit)
    shown: dict[str, Any] = snapshot.prescribed["blocks"][0]["slots"][0]["sets"][0]
    return shown


def percent(pct: str, **more: Any) -> dict[str, Any]:
    return {"reps_low": 5, "load": {"kind": "percent", "of": "tested", "pct": pct}} | more


@pytest.mark.parametrize(
    ("load", "unit", "load_kg", "load_lb"),
    [
        ({"kind": "absolute", "load_kg": "80"}, "kg", "80", "176.37"),
        ({"kind": "absolute", "load_kg": "81.3"}, "kg", "81.3", "179.24"),
        ({"kind": "absolute", "load_kg": "80"}, "lb", "79.37866475", "175"),
        ({"kind": "absolute", "load_lb": "225"}, "lb", "102.05828325", "225"),
        ({"kind": "absolute", "load_lb": "225"}, "kg", "100", "220.46"),
    ],
)
def test_a_written_load_is_shown_in_the_clients_unit_rounded_down_where_converted(
    load: Any, unit: Any, load_kg: str, load_lb: str
) -> None:
    shown = line(session({"reps_low": 5, "load": load}), unit=unit)
    assert (shown["load_kg"], shown["load_lb"], shown["load_unit"]) == (load_kg, load_lb, unit)
    assert shown["load"] == load


def test_a_written_load_that_can_be_loaded_there_stays_exact_in_its_own_unit() -> None:
    # A place with kilogram weights, for a client who loads in pounds: nothing is rounded, so nothing is converted.
    known: dict[str, Any] = {"unit": "lb", "steps": {"barbell": kg_to_lb(Decimal(2))}}
    written = session({"reps_low": 5, "load": {"kind": "absolute", "load_kg": "24"}})
    shown = session_snapshot(written, FACTS, {}, **known).prescribed["blocks"][0]["slots"][0]["sets"][0]
    assert (shown["load_kg"], shown["load_lb"], shown["load_unit"]) == ("24", "52.91", "kg")
    assert shown["resolved_from"] == "As written. 24 kg is 52.91 lb."


def test_a_percentage_says_what_it_was_resolved_from() -> None:
    shown = line(session(percent("75")), tested="105")
    assert (shown["load_status"], shown["load_kg"]) == ("resolved", "77.5")
    assert shown["resolved_from"] == "75 % of the tested maximum (105 kg). Rounded down to 77.5 kg."


def test_a_missing_reference_is_told_once_for_the_session() -> None:
    snapshot = session_snapshot(session(percent("75"), percent("80")), FACTS, {}, unit="kg")
    (lack,) = snapshot.missing
    assert (lack.exercise, lack.exercise_name, lack.of) == ("back-squat", "Back squat", "tested")
    assert lack.suggestion


def test_a_slow_tempo_takes_no_percentage_without_a_factor() -> None:
    shown = line(session(percent("75", tempo="41X1")), tested="100")
    assert (shown["load_status"], shown["load_kg"]) == ("needs_effort", None)


@pytest.mark.parametrize(
    ("load", "status"),
    [
        (None, "by_effort"),
        ({"kind": "bodyweight"}, "bodyweight"),
        ({"kind": "band", "text": "green"}, "band"),
    ],
)
def test_what_has_no_figure_says_why(load, status) -> None:
    shown = line(session({"reps_low": 5, "load": load}))
    assert (shown["load_status"], shown["load_kg"], shown["load_lb"]) == (status, None, None)
    assert shown["resolved_from"]


def test_names_stand_beside_keys_also_in_an_entry_piece() -> None:
    written = session(
        {"reps_low": 5}, kind="rounds_for_time", rounds=3, entry={"exercise": "rowing", "duration_s": 120}
    )
    block = session_snapshot(written, FACTS, {}, unit="kg").prescribed["blocks"][0]
    assert block["slots"][0]["exercise_name"] == "Back squat"
    assert block["entry"]["exercise_name"] == "Rowing"


def test_the_frame_has_a_tempo_class_for_each_set_and_counts_working_sets() -> None:
    written = session(
        {"count": 2, "kind": "warm_up", "reps_low": 5},
        {"count": 2, "reps_low": 5, "tempo": "20X1"},
        {"count": 1, "reps_low": 5, "tempo": "41X1"},
    )
    frame = session_frame(written, FACTS)
    assert frame.slot_classes == {"A1": ("unspecified", "unspecified", "standard", "standard", "slow")}
    assert frame.work_sets == 3
    assert Decimal(0) < frame.low_min <= frame.high_min


def test_only_percentages_depend_on_the_clients_references() -> None:
    assert reference_exercises(session(percent("75"))) == ("back-squat",)
    assert reference_exercises(session({"reps_low": 5, "load": {"kind": "absolute", "load_kg": 80}})) == ()
