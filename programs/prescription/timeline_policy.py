"""How time is reckoned; the defaults are practice, and are shown. A business's own: `timeline_fields.py`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal, get_args

from programs.prescription.constants import (
    BETWEEN_BLOCKS_S,
    CHANGE_SIDES_S,
    CHANGE_STATION_GYM_S,
    CHANGE_STATION_HOME_S,
    CIRCUIT_REST_S,
    EXPLOSIVE_S,
    PAIRED_REST_OTHER_S,
    PAIRED_REST_STRENGTH_S,
    RAMP_SET_S,
    RAMP_SETS,
    REST_ENDURANCE_S,
    REST_OTHER_S,
    REST_SIZE_S,
    REST_STRENGTH_S,
    REST_UNSAID_S,
    S_PER_KCAL,
    S_PER_M_LOADED,
    S_PER_M_MACHINE,
    S_PER_M_ON_FOOT,
    TO_LIMIT_REPS_HIGH,
    TO_LIMIT_REPS_LOW,
    USUAL_REPETITION_S,
)
from programs.prescription.vocabulary import BlockKind, Goal

Place = Literal["gym", "home"]
PLACES: Final[tuple[Place, ...]] = get_args(Place)
"""Where a session is done, as far as changing station goes. Practice."""

_STRAIGHT_RESTS_S: Final[Mapping[Goal | None, int]] = {
    "strength": REST_STRENGTH_S,
    "power": REST_STRENGTH_S,
    "size": REST_SIZE_S,
    "endurance": REST_ENDURANCE_S,
    "technique": REST_OTHER_S,
    "conditioning": REST_OTHER_S,
    "mobility": REST_OTHER_S,
    None: REST_UNSAID_S,
}
"""Rests assumed in straight blocks, by goal. Source: each figure's own, in the constants that it names."""

_PAIRED_RESTS_S: Final[Mapping[Goal | None, int]] = {
    "strength": PAIRED_REST_STRENGTH_S,
    "power": PAIRED_REST_STRENGTH_S,
    "endurance": REST_ENDURANCE_S,
}
"""Rests assumed in paired blocks, by goal; any other goal has 60 s. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelinePolicy:
    """How time is reckoned. Seconds throughout, but for the counts of sets and repetitions."""

    explosive_s: int = EXPLOSIVE_S
    change_station_s: int = CHANGE_STATION_GYM_S
    change_sides_s: int = CHANGE_SIDES_S
    between_blocks_s: int = BETWEEN_BLOCKS_S
    ramp_sets: int = RAMP_SETS
    ramp_set_s: int = RAMP_SET_S
    usual_repetition_s: Decimal = USUAL_REPETITION_S
    to_limit_reps_low: int = TO_LIMIT_REPS_LOW
    to_limit_reps_high: int = TO_LIMIT_REPS_HIGH
    loaded_s_per_m: Decimal = S_PER_M_LOADED
    machine_s_per_m: Decimal = S_PER_M_MACHINE
    on_foot_s_per_m: Decimal = S_PER_M_ON_FOOT
    s_per_kcal: Decimal = S_PER_KCAL
    circuit_rest_s: int = CIRCUIT_REST_S
    paired_rest_other_s: int = PAIRED_REST_OTHER_S
    straight_rests_s: Mapping[Goal | None, int] = field(default_factory=lambda: _STRAIGHT_RESTS_S)
    paired_rests_s: Mapping[Goal | None, int] = field(default_factory=lambda: _PAIRED_RESTS_S)

    @classmethod
    def at(cls, place: Place) -> "TimelinePolicy":
        """Give the defaults of a place."""
        return cls.at_home() if place == "home" else cls()

    @classmethod
    def at_home(cls) -> "TimelinePolicy":
        """Give the defaults of a home, where the next station is a step away."""
        return cls(change_station_s=CHANGE_STATION_HOME_S)

    def assumed_rest_s(self, kind: BlockKind, goal: Goal | None) -> int:
        """Give the rest taken after a set whose slot says none."""
        if kind == "paired":
            return self.paired_rests_s.get(goal, self.paired_rest_other_s)
        if kind == "circuit":
            return self.circuit_rest_s
        if kind in ("rounds_for_time", "max_rounds"):
            return 0
        return self.straight_rests_s.get(goal, REST_UNSAID_S)
