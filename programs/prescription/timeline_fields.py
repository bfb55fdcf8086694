"""The figures by which a session's time is reckoned, one by one: what each is, in what unit, and in what bounds.

A business may have its own of each; what it has not is practice. How long an explosive concentric counts is not among
them: performed sets are reckoned by the same figure, which is one for everybody.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, get_args

from programs.prescription.constants import (
    BETWEEN_BLOCKS_S,
    CHANGE_SIDES_S,
    CHANGE_STATION_GYM_S,
    CHANGE_STATION_HOME_S,
    CIRCUIT_REST_S,
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
from programs.prescription.timeline_policy import Place, TimelinePolicy
from programs.prescription.vocabulary import Goal

TimelineUnit = Literal["s", "sets", "reps", "s_per_rep", "s_per_m", "s_per_kcal"]
TIMELINE_UNITS: Final[tuple[TimelineUnit, ...]] = get_args(TimelineUnit)
"""What a figure is counted in. Practice."""

_WHOLE_UNITS: Final = frozenset({"s", "sets", "reps"})
_PRACTICE: Final = "practice"
_PAIRED_GOALS: Final[tuple[Goal, ...]] = ("strength", "power", "endurance")
"""Goals whose rests in a pairing are told apart. Practice."""


class TimelineFieldError(ValueError):
    """Figures of time that can't stand side by side; ``names`` are theirs."""

    code = "invalid_timeline"

    def __init__(self, names: tuple[str, ...], message: str) -> None:
        super().__init__(message)
        self.names = names


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelineField:
    """One figure: its default, and the least and the most that a business may put in its place."""

    name: str
    unit: TimelineUnit
    default: Decimal
    least: Decimal
    most: Decimal
    meaning: str
    source: str = _PRACTICE

    @property
    def whole(self) -> bool:
        """Whether it is a whole number."""
        return self.unit in _WHOLE_UNITS


@dataclass(frozen=True, slots=True, kw_only=True)
class Timelines:
    """How a business reckons time, in a gym and at home."""

    gym: TimelinePolicy
    home: TimelinePolicy

    def at(self, place: Place) -> TimelinePolicy:
        """Give the reckoning at a place."""
        return self.home if place == "home" else self.gym


def _field(
    name: str,
    unit: TimelineUnit,
    default: Decimal | int,
    bounds: tuple[str, str],
    said: tuple[str, str] | str,
) -> TimelineField:
    least, most = map(Decimal, bounds)
    meaning, source = (said, _PRACTICE) if isinstance(said, str) else said
    return TimelineField(
        name=name, unit=unit, default=Decimal(default), least=least, most=most, meaning=meaning, source=source
    )


_REST: Final = ("0", "900")
_ACSM: Final = "ACSM 2009 Med Sci Sports Exerc 41:687-708 (3-5 min)"
_SINGER: Final = "Singer et al. 2024 Front Sports Act Living 6:1429789"
_NSCA: Final = "NSCA goal table (30 s or less)"
_STRAIGHT: Final = "Rest assumed after a straight set"
_PAIRED: Final = "Rest assumed between the sets of a pairing"

TIMELINE_FIELDS: Final[tuple[TimelineField, ...]] = (
    _field("change_station_gym_s", "s", CHANGE_STATION_GYM_S, ("0", "600"), "Least time to change station in a gym."),
    _field("change_station_home_s", "s", CHANGE_STATION_HOME_S, ("0", "600"), "Least time to change station at home."),
    _field("change_sides_s", "s", CHANGE_SIDES_S, ("0", "120"), "Time to change sides within a set."),
    _field("between_blocks_s", "s", BETWEEN_BLOCKS_S, ("0", "900"), "Time between two blocks."),
    _field("ramp_sets", "sets", RAMP_SETS, ("0", "10"), "Ramp sets before the first heavy lift of a pattern."),
    _field("ramp_set_s", "s", RAMP_SET_S, ("0", "600"), "Time of one ramp set with its rest."),
    _field(
        "usual_repetition_s",
        "s_per_rep",
        USUAL_REPETITION_S,
        ("0.5", "30"),
        "A repetition where neither a tempo nor the exercise says.",
    ),
    _field(
        "to_limit_reps_low",
        "reps",
        TO_LIMIT_REPS_LOW,
        ("1", "100"),
        "Fewest repetitions reckoned for a set to the limit without a number.",
    ),
    _field(
        "to_limit_reps_high",
        "reps",
        TO_LIMIT_REPS_HIGH,
        ("1", "100"),
        "Most repetitions reckoned for a set to the limit without a number.",
    ),
    _field("loaded_s_per_m", "s_per_m", S_PER_M_LOADED, ("0.1", "10"), "A metre with a carry, a sled or a bag."),
    _field("machine_s_per_m", "s_per_m", S_PER_M_MACHINE, ("0.05", "2"), "A metre on a machine with a monitor."),
    _field("on_foot_s_per_m", "s_per_m", S_PER_M_ON_FOOT, ("0.1", "3"), "A metre on foot without a load."),
    _field("s_per_kcal", "s_per_kcal", S_PER_KCAL, ("0.5", "60"), "A kilocalorie on a machine's monitor."),
    _field("rest_strength_s", "s", REST_STRENGTH_S, _REST, (f"{_STRAIGHT} for strength.", _ACSM)),
    _field("rest_power_s", "s", REST_STRENGTH_S, _REST, (f"{_STRAIGHT} for power.", _ACSM)),
    _field("rest_size_s", "s", REST_SIZE_S, _REST, (f"{_STRAIGHT} for size.", _SINGER)),
    _field("rest_endurance_s", "s", REST_ENDURANCE_S, _REST, (f"{_STRAIGHT} for endurance.", _NSCA)),
    _field("rest_technique_s", "s", REST_OTHER_S, _REST, f"{_STRAIGHT} for technique."),
    _field("rest_conditioning_s", "s", REST_OTHER_S, _REST, f"{_STRAIGHT} for conditioning."),
    _field("rest_mobility_s", "s", REST_OTHER_S, _REST, f"{_STRAIGHT} for mobility."),
    _field("rest_unsaid_s", "s", REST_UNSAID_S, _REST, f"{_STRAIGHT} whose goal is unsaid."),
    _field("paired_rest_strength_s", "s", PAIRED_REST_STRENGTH_S, _REST, f"{_PAIRED} for strength."),
    _field("paired_rest_power_s", "s", PAIRED_REST_STRENGTH_S, _REST, f"{_PAIRED} for power."),
    _field("paired_rest_endurance_s", "s", REST_ENDURANCE_S, _REST, (f"{_PAIRED} for endurance.", _NSCA)),
    _field("paired_rest_other_s", "s", PAIRED_REST_OTHER_S, _REST, f"{_PAIRED} for any other goal."),
    _field("circuit_rest_s", "s", CIRCUIT_REST_S, _REST, "Rest assumed between the stations of a circuit."),
)
"""Every figure that a business may have its own of, with its default. Source: each figure's own; bounds: practice."""


def timelines(own: Mapping[str, Decimal]) -> Timelines:
    """Put a business's own figures and the defaults of the rest together.

    Args:
        own: its own figures, by name; a name that is no figure is passed over.

    Raises:
        TimelineFieldError: a set to the limit would have more repetitions in the low reading than in the high one.

    Source: practice, but for the rests that name theirs.
    """
    figure = {field.name: own.get(field.name, field.default) for field in TIMELINE_FIELDS}
    count = {name: int(value) for name, value in figure.items()}
    if count["to_limit_reps_low"] > count["to_limit_reps_high"]:
        raise TimelineFieldError(
            ("to_limit_reps_low", "to_limit_reps_high"),
            f"The fewest repetitions, {count['to_limit_reps_low']}, are more than the most, "
            f"{count['to_limit_reps_high']}; change one of them.",
        )
    gym, home = (_policy(figure, count, station) for station in ("change_station_gym_s", "change_station_home_s"))
    return Timelines(gym=gym, home=home)


def _policy(figure: Mapping[str, Decimal], count: Mapping[str, int], change_station: str) -> TimelinePolicy:
    return TimelinePolicy(
        change_station_s=count[change_station],
        change_sides_s=count["change_sides_s"],
        between_blocks_s=count["between_blocks_s"],
        ramp_sets=count["ramp_sets"],
        ramp_set_s=count["ramp_set_s"],
        usual_repetition_s=figure["usual_repetition_s"],
        to_limit_reps_low=count["to_limit_reps_low"],
        to_limit_reps_high=count["to_limit_reps_high"],
        loaded_s_per_m=figure["loaded_s_per_m"],
        machine_s_per_m=figure["machine_s_per_m"],
        on_foot_s_per_m=figure["on_foot_s_per_m"],
        s_per_kcal=figure["s_per_kcal"],
        circuit_rest_s=count["circuit_rest_s"],
        paired_rest_other_s=count["paired_rest_other_s"],
        straight_rests_s={
            **{goal: count[f"rest_{goal}_s"] for goal in get_args(Goal)},
            None: count["rest_unsaid_s"],
        },
        paired_rests_s={goal: count[f"paired_rest_{goal}_s"] for goal in _PAIRED_GOALS},
    )
