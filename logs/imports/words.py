"""Words for units, kinds of sets and sides, as tables have them."""

from collections.abc import Mapping
from typing import Final

UNIT_WORDS: Final[Mapping[str, str]] = {
    "kg": "kg", "kgs": "kg", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg",
    "lb": "lb", "lbs": "lb", "pound": "lb", "pounds": "lb",
    "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "km": "km", "kms": "km", "kilometre": "km", "kilometres": "km", "kilometer": "km", "kilometers": "km",
    "mi": "mi", "mile": "mi", "miles": "mi", "yd": "yd", "yds": "yd", "yard": "yd", "yards": "yd",
    "s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s",
    "min": "min", "mins": "min", "minute": "min", "minutes": "min",
}  # fmt: skip
"""Words for units. Practice."""

KIND_WORDS: Final[Mapping[str, str]] = {
    "work": "work", "working": "work", "normal": "work", "regular": "work", "standard": "work", "no": "work",
    "warm up": "warm_up", "warmup": "warm_up", "w": "warm_up", "yes": "warm_up",
    "ramp": "ramp", "ramp up": "ramp", "top": "top", "top set": "top", "back off": "back_off", "backoff": "back_off",
    "drop": "drop", "drop set": "drop", "dropset": "drop", "d": "drop", "cluster": "cluster",
    "rest pause": "rest_pause", "failure": "to_limit", "to failure": "to_limit", "to limit": "to_limit",
    "f": "to_limit", "amrap": "to_limit", "test": "test", "max": "test", "technique": "technique",
}  # fmt: skip
"""Words for kinds of sets; yes and no are of a column that asks whether it was a warm-up. Practice."""

SIDE_WORDS: Final[Mapping[str, str]] = {
    "left": "left", "l": "left", "right": "right", "r": "right", "both": "both", "b": "both", "bilateral": "both",
}  # fmt: skip
"""Words for sides. Practice."""
