"""Care groups switch outputs off: what must not be shown of whom, and why, in plain words.

The service informs coaches; it does not diagnose. A group is what the person or their coach said; somebody under 18 by
their date of birth is a minor whether or not anyone said so.
"""

from collections.abc import Collection, Mapping
from datetime import date
from types import MappingProxyType
from typing import Final, Literal

Output = Literal["bodyweight", "heart_rate", "maximum_test"]

MINOR: Final = "minor"
CARE_GROUPS: Final = (
    MINOR,
    "pregnant",
    "postpartum",
    "over_65",
    "heart_rate_medicine",
    "eating_disorder_history",
    "known_disease",
    "recent_surgery",
)
"""The groups that can be noted with a client: a word misspelt would switch nothing off, so no other is taken.
Practice."""
_ADULT_YEARS: Final = 18

_WEIGHT: Final[Mapping[str, str]] = MappingProxyType(
    {
        "eating_disorder_history": "Weight is not shown: care was asked for about eating and weight.",
        MINOR: "Weight is not shown of somebody under 18.",
        "pregnant": "Weight in pregnancy is a matter for those who look after it, not for training.",
        "postpartum": "Weight in the months after a birth is not read for training.",
    }
)
_HEART_RATE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "heart_rate_medicine": "Medicine that changes the heart rate makes the figure misleading; go by effort (RPE).",
        "pregnant": "Heart rate is no guide in pregnancy; go by effort (RPE) and the talk test.",
        "postpartum": "Heart rate is no guide in the months after a birth; go by effort (RPE) and the talk test.",
    }
)
_MAXIMUM_TEST: Final[Mapping[str, str]] = MappingProxyType(
    {
        MINOR: "No maximum test is suggested to somebody under 18.",
        "pregnant": "No maximum test is suggested in pregnancy.",
        "postpartum": "No maximum test is suggested in the months after a birth.",
        "over_65": "No maximum test is suggested unasked to somebody over 65.",
        "heart_rate_medicine": "No maximum test is suggested with medicine that changes the heart rate.",
        "known_disease": "No maximum test is suggested where a disease is known.",
        "recent_surgery": "No maximum test is suggested soon after surgery.",
    }
)
_SWITCHED: Final[Mapping[Output, Mapping[str, str]]] = MappingProxyType(
    {"bodyweight": _WEIGHT, "heart_rate": _HEART_RATE, "maximum_test": _MAXIMUM_TEST}
)


def care_groups_of(care_groups: Collection[str], *, birth_date: date | None, today: date) -> frozenset[str]:
    """Join what was said of a person with what their date of birth says.

    Args:
        care_groups: Groups as noted with the client.
        birth_date: Date of birth; None when it is not known, which makes nobody a minor.
        today: The person's local date.

    Returns:
        The groups, `minor` among them for whoever is under 18 today.

    Source: practice.
    """
    if birth_date is None or _years(birth_date, today) >= _ADULT_YEARS:
        return frozenset(care_groups)
    return frozenset(care_groups) | {MINOR}


def switched_off(output: Output, care_groups: Collection[str]) -> str:
    """Say why an output is switched off for a person.

    Args:
        output: `bodyweight`, `heart_rate` (resting heart rate and its variability), or `maximum_test` (suggesting one).
        care_groups: The person's groups, as `care_groups_of` gives them.

    Returns:
        The reason in plain words; empty where nothing switches it off.

    Source: practice.
    """
    return next((sentence for group, sentence in _SWITCHED[output].items() if group in care_groups), "")


def switching_groups(output: Output) -> tuple[str, ...]:
    """Name the groups that switch an output off, for asking many people's at once.

    Args:
        output: As for `switched_off`.

    Returns:
        The groups; of bodyweight `minor` among them, which also follows from a date of birth.

    Source: practice.
    """
    return tuple(_SWITCHED[output])


def _years(birth_date: date, today: date) -> int:
    return today.year - birth_date.year - ((today.month, today.day) < (birth_date.month, birth_date.day))
