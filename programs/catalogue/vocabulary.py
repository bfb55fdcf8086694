"""The words that describe an exercise: patterns, muscles, phases, stations, equipment, loading."""

from enum import StrEnum
from typing import Final


class Pattern(StrEnum):
    """Movement patterns, the families that balance and volume are read by."""

    SQUAT = "squat"
    HINGE = "hinge"
    LUNGE = "lunge"
    HORIZONTAL_PUSH = "horizontal_push"
    VERTICAL_PUSH = "vertical_push"
    HORIZONTAL_PULL = "horizontal_pull"
    VERTICAL_PULL = "vertical_pull"
    CARRY = "carry"
    TRUNK_FLEXION = "trunk_flexion"
    TRUNK_ROTATION = "trunk_rotation"
    TRUNK_STABILITY = "trunk_stability"
    ELBOW_FLEXION = "elbow_flexion"
    ELBOW_EXTENSION = "elbow_extension"
    SHOULDER_ISOLATION = "shoulder_isolation"
    KNEE_EXTENSION = "knee_extension"
    KNEE_FLEXION = "knee_flexion"
    HIP_ISOLATION = "hip_isolation"
    CALF_RAISE = "calf_raise"
    GRIP = "grip"
    NECK = "neck"
    JUMP = "jump"
    THROW = "throw"
    OLYMPIC = "olympic"
    LOCOMOTION = "locomotion"
    STEADY_CONDITIONING = "steady_conditioning"
    GET_UP = "get_up"


class Muscle(StrEnum):
    """Muscle groups, as coarse as weekly sets are counted."""

    QUADRICEPS = "quadriceps"
    HAMSTRINGS = "hamstrings"
    GLUTES = "glutes"
    ADDUCTORS = "adductors"
    ABDUCTORS = "abductors"
    CALVES = "calves"
    TIBIALIS = "tibialis"
    HIP_FLEXORS = "hip_flexors"
    CHEST = "chest"
    LATS = "lats"
    UPPER_BACK = "upper_back"
    TRAPS = "traps"
    FRONT_DELTS = "front_delts"
    SIDE_DELTS = "side_delts"
    REAR_DELTS = "rear_delts"
    ROTATOR_CUFF = "rotator_cuff"
    BICEPS = "biceps"
    TRICEPS = "triceps"
    FOREARMS = "forearms"
    ABDOMINALS = "abdominals"
    OBLIQUES = "obliques"
    SPINAL_ERECTORS = "spinal_erectors"
    NECK = "neck"


class Phase(StrEnum):
    """The four parts of a repetition, in the order in which a tempo is written."""

    ECCENTRIC = "eccentric"
    LENGTHENED = "lengthened"
    CONCENTRIC = "concentric"
    SHORTENED = "shortened"


class StartingEnd(StrEnum):
    """The end of the movement at which the first repetition starts."""

    SHORTENED = "shortened"
    LENGTHENED = "lengthened"


class RestfulEnd(StrEnum):
    """The end at which working muscles can rest inside a set."""

    SHORTENED = "shortened"
    LENGTHENED = "lengthened"
    NONE = "none"


class Laterality(StrEnum):
    """Both sides at once, one side for the whole set, or sides taking turns."""

    BILATERAL = "bilateral"
    UNILATERAL = "unilateral"
    ALTERNATING = "alternating"


class Measure(StrEnum):
    """What a set of the exercise is counted in."""

    REPS = "reps"
    SECONDS = "seconds"
    METRES = "metres"
    CALORIES = "calories"


class LoadBasis(StrEnum):
    """What a written load means."""

    TOTAL = "total"
    EACH_HAND = "each_hand"
    ADDED = "added"
    STACK_LABEL = "stack_label"


class Loading(StrEnum):
    """How the exercise is loaded, hence which loads can be made."""

    BARBELL = "barbell"
    DUMBBELL_PAIR = "dumbbell_pair"
    DUMBBELL = "dumbbell"
    KETTLEBELL_PAIR = "kettlebell_pair"
    KETTLEBELL = "kettlebell"
    STACK = "stack"
    PLATE_MACHINE = "plate_machine"
    BODYWEIGHT = "bodyweight"
    BAND = "band"
    MACHINE_MONITOR = "machine_monitor"
    SLED = "sled"
    SANDBAG = "sandbag"
    NONE = "none"


class Station(StrEnum):
    """The place that an exercise occupies while it is done."""

    FLOOR = "floor"
    WALL = "wall"
    LANE = "lane"
    OPEN_GROUND = "open_ground"
    RACK = "rack"
    PLATFORM = "platform"
    PRESS_BENCH = "press_bench"
    BENCH = "bench"
    BOX = "box"
    PULL_UP_BAR = "pull_up_bar"
    DIP_BARS = "dip_bars"
    RINGS = "rings"
    LANDMINE = "landmine"
    ANCHOR = "anchor"
    CABLE_COLUMN = "cable_column"
    PULLDOWN_MACHINE = "pulldown_machine"
    CABLE_ROW_MACHINE = "cable_row_machine"
    ROW_MACHINE = "row_machine"
    CHEST_PRESS_MACHINE = "chest_press_machine"
    SHOULDER_PRESS_MACHINE = "shoulder_press_machine"
    FLY_MACHINE = "fly_machine"
    ASSISTED_PULL_UP_MACHINE = "assisted_pull_up_machine"
    PREACHER_BENCH = "preacher_bench"
    LEG_PRESS_MACHINE = "leg_press_machine"
    HACK_SQUAT_MACHINE = "hack_squat_machine"
    LEG_EXTENSION_MACHINE = "leg_extension_machine"
    LYING_LEG_CURL_MACHINE = "lying_leg_curl_machine"
    SEATED_LEG_CURL_MACHINE = "seated_leg_curl_machine"
    HIP_ABDUCTION_MACHINE = "hip_abduction_machine"
    HIP_ADDUCTION_MACHINE = "hip_adduction_machine"
    STANDING_CALF_MACHINE = "standing_calf_machine"
    SEATED_CALF_MACHINE = "seated_calf_machine"
    GLUTE_HAM_BENCH = "glute_ham_bench"
    BACK_EXTENSION_BENCH = "back_extension_bench"
    ABDOMINAL_MACHINE = "abdominal_machine"
    ROWING_MACHINE = "rowing_machine"
    STATIONARY_BIKE = "stationary_bike"
    FAN_BIKE = "fan_bike"
    SKI_MACHINE = "ski_machine"
    TREADMILL = "treadmill"
    CROSS_TRAINER = "cross_trainer"
    STAIR_CLIMBER = "stair_climber"


SHARED_STATIONS: Final = frozenset({Station.FLOOR, Station.WALL, Station.LANE, Station.OPEN_GROUND})
"""Places with room for several exercises at once, so that two of them never compete for it. Practice."""


class Equipment(StrEnum):
    """Things that must be at hand."""

    BARBELL = "barbell"
    CURL_BAR = "curl_bar"
    TRAP_BAR = "trap_bar"
    PLATES = "plates"
    RACK = "rack"
    BENCH = "bench"
    ADJUSTABLE_BENCH = "adjustable_bench"
    PREACHER_BENCH = "preacher_bench"
    DUMBBELL = "dumbbell"
    DUMBBELLS = "dumbbells"
    KETTLEBELL = "kettlebell"
    KETTLEBELLS = "kettlebells"
    LANDMINE = "landmine"
    PULL_UP_BAR = "pull_up_bar"
    DIP_BARS = "dip_bars"
    RINGS = "rings"
    BAND = "band"
    MINI_BAND = "mini_band"
    BOX = "box"
    CABLE = "cable"
    ROPE_HANDLE = "rope_handle"
    ANKLE_CUFF = "ankle_cuff"
    SLED = "sled"
    SANDBAG = "sandbag"
    MEDICINE_BALL = "medicine_ball"
    AB_WHEEL = "ab_wheel"
    STABILITY_BALL = "stability_ball"
    SLIDERS = "sliders"
    SKIPPING_ROPE = "skipping_rope"
    BATTLE_ROPES = "battle_ropes"
    PULLDOWN_MACHINE = "pulldown_machine"
    CABLE_ROW_MACHINE = "cable_row_machine"
    ROW_MACHINE = "row_machine"
    CHEST_PRESS_MACHINE = "chest_press_machine"
    SHOULDER_PRESS_MACHINE = "shoulder_press_machine"
    FLY_MACHINE = "fly_machine"
    ASSISTED_PULL_UP_MACHINE = "assisted_pull_up_machine"
    LEG_PRESS_MACHINE = "leg_press_machine"
    HACK_SQUAT_MACHINE = "hack_squat_machine"
    LEG_EXTENSION_MACHINE = "leg_extension_machine"
    LYING_LEG_CURL_MACHINE = "lying_leg_curl_machine"
    SEATED_LEG_CURL_MACHINE = "seated_leg_curl_machine"
    HIP_ABDUCTION_MACHINE = "hip_abduction_machine"
    HIP_ADDUCTION_MACHINE = "hip_adduction_machine"
    STANDING_CALF_MACHINE = "standing_calf_machine"
    SEATED_CALF_MACHINE = "seated_calf_machine"
    GLUTE_HAM_BENCH = "glute_ham_bench"
    BACK_EXTENSION_BENCH = "back_extension_bench"
    ABDOMINAL_MACHINE = "abdominal_machine"
    ROWING_MACHINE = "rowing_machine"
    STATIONARY_BIKE = "stationary_bike"
    FAN_BIKE = "fan_bike"
    SKI_MACHINE = "ski_machine"
    TREADMILL = "treadmill"
    CROSS_TRAINER = "cross_trainer"
    STAIR_CLIMBER = "stair_climber"


LOAD_BASES: Final[dict[Loading, frozenset[LoadBasis]]] = {
    Loading.BARBELL: frozenset({LoadBasis.TOTAL}),
    Loading.DUMBBELL_PAIR: frozenset({LoadBasis.EACH_HAND}),
    Loading.DUMBBELL: frozenset({LoadBasis.TOTAL}),
    Loading.KETTLEBELL_PAIR: frozenset({LoadBasis.EACH_HAND}),
    Loading.KETTLEBELL: frozenset({LoadBasis.TOTAL}),
    Loading.STACK: frozenset({LoadBasis.STACK_LABEL}),
    Loading.PLATE_MACHINE: frozenset({LoadBasis.TOTAL}),
    Loading.BODYWEIGHT: frozenset({LoadBasis.ADDED}),
    Loading.BAND: frozenset({LoadBasis.ADDED}),
    Loading.MACHINE_MONITOR: frozenset({LoadBasis.ADDED}),
    Loading.SLED: frozenset({LoadBasis.TOTAL}),
    Loading.SANDBAG: frozenset({LoadBasis.TOTAL}),
    Loading.NONE: frozenset({LoadBasis.ADDED, LoadBasis.TOTAL}),
}
"""What a written load can mean, by loading. Where nothing is weighed only what is added (a vest) counts;
`none` with `total` is a fixed thing such as a medicine ball. Practice."""

LOADED_WITH: Final[dict[Loading, frozenset[Equipment]]] = {
    Loading.BARBELL: frozenset({Equipment.BARBELL, Equipment.CURL_BAR, Equipment.TRAP_BAR, Equipment.LANDMINE}),
    Loading.DUMBBELL_PAIR: frozenset({Equipment.DUMBBELLS}),
    Loading.DUMBBELL: frozenset({Equipment.DUMBBELL, Equipment.DUMBBELLS}),
    Loading.KETTLEBELL_PAIR: frozenset({Equipment.KETTLEBELLS}),
    Loading.KETTLEBELL: frozenset({Equipment.KETTLEBELL, Equipment.KETTLEBELLS}),
    Loading.BAND: frozenset({Equipment.BAND, Equipment.MINI_BAND}),
    Loading.SLED: frozenset({Equipment.SLED}),
}
"""What an exercise so loaded needs, one of them at the least; else it would fit a client who has none. A sandbag
stands for any odd thing that is lifted, and needs none. Practice."""

LOADED_BY_MACHINE: Final = frozenset({Loading.STACK, Loading.PLATE_MACHINE, Loading.MACHINE_MONITOR})
"""Loadings that need a machine, whichever it is. Practice."""
