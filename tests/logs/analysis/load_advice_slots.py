"""Slots and what was done of them, for tests of load advice: the plainest, changed by keyword."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from logs.analysis.load_advice_facts import AdvisedSlot, Exposure, PerformedSet, SlotHold, SlotTarget
from programs.prescription.structure import ExerciseFacts

DAY = date(2031, 3, 24)
SQUAT = ExerciseFacts(
    key="back-squat", name="Back squat", pattern="squat", loading="barbell", equipment=("barbell", "rack")
)
BELL = ExerciseFacts(key="goblet-squat", name="Goblet squat", pattern="squat", loading="kettlebell")
DIP = ExerciseFacts(
    key="dip",
    name="Dip",
    pattern="vertical_push",
    loading="bodyweight",
    load_basis="added",
    bodyweight_share=Decimal(1),
)
STACK = ExerciseFacts(
    key="lat-pulldown", name="Lat pull-down", pattern="vertical_pull", loading="stack", load_basis="stack_label"
)
NO_INCREASE = SlotHold(code="no_increase", detail="Back squat is held for pain since 2031-03-20.")


def target(**fields: Any) -> SlotTarget:
    """Three sets of 6 to 8 at RPE 8 with 80 kg."""
    given: dict[str, Any] = {
        "groups": (0,),
        "set_numbers": frozenset({1, 2, 3}),
        "alone": True,
        "sets": 3,
        "reps_low": 6,
        "reps_high": 8,
        "reserve": Decimal(2),
        "kind": "absolute",
        "written": "80",
        "resolved": Decimal(80),
    }
    return SlotTarget(**(given | fields))


def done(days_ago: int, *reps: int, load: Any = 80, reserve: Any = 2, asked: Any = None, **fields: Any) -> Exposure:
    """An exposure of so many days before the session, one set for each number of repetitions."""
    sets = tuple(
        PerformedSet(
            set_number=number,
            reps=count,
            load=None if load is None else Decimal(str(load)),
            reserve=None if reserve is None else Decimal(str(reserve)),
            **{name: fields[name] for name in ("outcome", "machine", "tempo_class", "converted") if name in fields},
        )
        for number, count in enumerate(reps, start=1)
    )
    own = {name: fields[name] for name in ("deload", "place") if name in fields}
    day = DAY - timedelta(days=days_ago)
    return Exposure(session=f"s{days_ago}", local_date=day, sets=sets, target=asked or target(), **own)


def slot(*exposures: Exposure, **fields: Any) -> AdvisedSlot:
    """A slot of squats."""
    given: dict[str, Any] = {"slot_key": "A1", "exercise": SQUAT, "target": target(), "day": DAY}
    return AdvisedSlot(**(given | fields), exposures=exposures)
