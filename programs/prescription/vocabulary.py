"""The closed vocabularies of a prescription, spelled as the API spells them."""

from typing import Final, Literal, get_args

BlockKind = Literal[
    "straight",
    "paired",
    "circuit",
    "interval",
    "rounds_for_time",
    "max_rounds",
    "every_minute",
    "steady",
]
SetKind = Literal[
    "warm_up",
    "ramp",
    "work",
    "top",
    "back_off",
    "drop",
    "cluster",
    "rest_pause",
    "to_limit",
    "test",
    "technique",
]
Goal = Literal["strength", "size", "endurance", "power", "technique", "conditioning", "mobility"]
End = Literal["shortened", "lengthened"]
RestfulEnd = Literal["shortened", "lengthened", "none"]
Phase = Literal["eccentric", "lengthened", "concentric", "shortened"]
Laterality = Literal["bilateral", "unilateral", "alternating"]
Measure = Literal["reps", "seconds", "metres", "calories"]
LoadBasis = Literal["total", "each_hand", "added", "stack_label"]
Loading = Literal[
    "barbell",
    "dumbbell_pair",
    "dumbbell",
    "kettlebell_pair",
    "kettlebell",
    "stack",
    "plate_machine",
    "bodyweight",
    "band",
    "machine_monitor",
    "sled",
    "sandbag",
    "none",
]
Reference = Literal["training_max", "tested", "estimated", "working"]
LoadUnit = Literal["kg", "lb"]
Severity = Literal["error", "warning", "note"]

BLOCK_KINDS: Final[tuple[BlockKind, ...]] = get_args(BlockKind)
"""Every kind of block. Practice."""
SET_KINDS: Final[tuple[SetKind, ...]] = get_args(SetKind)
"""Every kind of set. Practice."""
GOALS: Final[tuple[Goal, ...]] = get_args(Goal)
"""What a slot may be meant for. Practice."""
REFERENCES: Final[tuple[Reference, ...]] = get_args(Reference)
"""What a percentage may be taken of. Practice."""
SEVERITIES: Final[tuple[Severity, ...]] = get_args(Severity)
"""How much a finding or a fault weighs. Practice."""
LOADINGS: Final[tuple[Loading, ...]] = get_args(Loading)
"""How an exercise is loaded. Practice."""

UNCOUNTED_SET_KINDS: Final[frozenset[SetKind]] = frozenset({"warm_up", "ramp", "technique"})
"""Set kinds that count in nothing but time. Practice."""
TOP_SET_KINDS: Final[frozenset[SetKind]] = frozenset({"ramp", "top", "test"})
"""Set kinds that may find the day's top load, from which later sets take a percentage. Practice."""
RESTED_BLOCK_KINDS: Final[frozenset[BlockKind]] = frozenset({"straight", "paired", "circuit"})
"""Kinds whose rests are meant to restore and whose few repetitions mean heavy ones. Practice."""
ROUND_BLOCK_KINDS: Final[frozenset[BlockKind]] = frozenset(
    {"interval", "rounds_for_time", "max_rounds", "every_minute", "steady"}
)
"""Kinds whose slots describe one round, which the block itself repeats. Practice."""
LISTED_ROUND_KINDS: Final[frozenset[BlockKind]] = frozenset({"circuit", "rounds_for_time"})
"""Kinds with counted rounds, whose slots may list a set for each round. Practice."""
