"""Red-flag symptoms: coded, in plain words, with what to do.

Nothing here is a diagnosis. A code stands for words that a client picks; the text says to stop, whom to call, and
that nobody is watching in real time.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType
from typing import Final, Literal

from coaching.screening.references import WARNING_SIGNS

Urgency = Literal["emergency", "same_day", "stop_and_see"]

URGENCIES: Final[tuple[Urgency, ...]] = ("emergency", "same_day", "stop_and_see")
"""Most urgent first. Practice."""


class UnknownSymptomError(ValueError):
    """A symptom code that is not in the list."""

    code = "unknown_symptom"


@dataclass(frozen=True, slots=True)
class RedFlag:
    """One red-flag symptom.

    Attributes:
        code: Stable code as sent in logs and check-ins.
        words: The symptom in plain words, to be shown to the person.
        urgency: `emergency`, `same_day` or `stop_and_see`.
        source: Where the entry comes from.
    """

    code: str
    words: str
    urgency: Urgency
    source: str = WARNING_SIGNS


_LIST = (
    RedFlag("chest_pain", "pain or pressure in the chest, neck, jaw, arm or between the shoulder blades", "emergency"),
    RedFlag("fainting", "fainting, or nearly fainting", "emergency"),
    RedFlag("breathless_at_rest", "breathlessness that stops you talking", "emergency"),
    RedFlag("cold_sweat", "a cold sweat that the effort does not explain", "emergency"),
    RedFlag("confusion", "confusion, or trouble speaking", "emergency"),
    RedFlag("vision_change", "a sudden disturbance of vision", "emergency"),
    RedFlag("new_numbness_or_weakness", "new numbness, tingling or weakness", "emergency"),
    RedFlag("sudden_severe_headache", "a sudden, severe headache", "emergency"),
    RedFlag("saddle_numbness", "numbness between the legs, together with back pain", "emergency"),
    RedFlag("bladder_or_bowel_change", "a change in bladder or bowel control, together with back pain", "emergency"),
    RedFlag("heat_illness", "signs of heat illness: very hot, unwell, unsteady or muddled", "emergency"),
    RedFlag("dark_urine", "dark urine with severe muscle swelling or weakness after training", "same_day"),
    RedFlag("calf_swelling", "swelling, redness or warmth of one calf", "same_day"),
    RedFlag("pregnancy_bleeding", "bleeding during pregnancy", "same_day"),
    RedFlag("pregnancy_fluid_loss", "loss of fluid during pregnancy", "same_day"),
    RedFlag("pregnancy_contractions", "regular or painful contractions during pregnancy", "same_day"),
    RedFlag("palpitations", "a racing, pounding or irregular heartbeat, or skipped beats", "stop_and_see"),
    RedFlag("dizziness", "dizziness", "stop_and_see"),
    RedFlag("nausea_or_vomiting", "nausea or vomiting", "stop_and_see"),
    RedFlag("sharp_joint_pain", "new, sharp pain in a joint", "stop_and_see"),
    RedFlag("fever_or_infection", "fever, or an acute infection", "stop_and_see"),
)

RED_FLAGS: Final[Mapping[str, RedFlag]] = MappingProxyType({flag.code: flag for flag in _LIST})
"""Every red-flag symptom by its code. Source: hospital patient-education pages; from memory for dark urine,
saddle numbness, calf swelling, heat illness, fever and the warning signs of pregnancy."""

SYMPTOM_CODES: Final = tuple(RED_FLAGS)
"""The codes that logs and check-ins may carry. Source: as RED_FLAGS."""

SEEN: Final = "Your coach sees this report, but nobody is watching it in real time."
"""Said of a report that was kept for a coach to see. Practice."""

NOT_STORED: Final = "This could not be stored; tell your coach yourself."
"""Said of a report that no coach will see. Practice."""

_FIRST_ACTION: Mapping[Urgency, str] = MappingProxyType(
    {
        "emergency": "Stop training now and call your local emergency number.",
        "same_day": (
            "Stop training now and speak to a doctor, midwife or urgent-care line today; if it is heavy or getting "
            "worse, call your local emergency number."
        ),
        "stop_and_see": "Stop training now and have this looked at before you train again.",
    }
)


def red_flag(code: str) -> RedFlag:
    """Look up a red-flag symptom.

    Args:
        code: A symptom code.

    Returns:
        The symptom.

    Raises:
        UnknownSymptomError: The code is not in the list; the sentence names the nearest ones, or all.

    Source: hospital patient-education pages on when to stop exercise.
    """
    found = RED_FLAGS.get(code)
    if found is None:
        near = get_close_matches(str(code), SYMPTOM_CODES, n=3, cutoff=0.5) or list(SYMPTOM_CODES)
        raise UnknownSymptomError(f"There is no symptom {code!r}; use one of: {', '.join(near)}.")
    return found


def most_urgent(codes: Iterable[str]) -> tuple[RedFlag, ...]:
    """Sort symptoms, most urgent first, each once.

    Args:
        codes: Symptom codes.

    Returns:
        The symptoms by urgency, then in the order of the list.

    Raises:
        UnknownSymptomError: A code is not in the list.

    Source: hospital patient-education pages on when to stop exercise; the order of urgency is practice.
    """
    found = {red_flag(code) for code in codes}
    return tuple(sorted(found, key=lambda flag: (URGENCIES.index(flag.urgency), SYMPTOM_CODES.index(flag.code))))


def caution_for(codes: Iterable[str], *, stored: bool = True, named: bool = True) -> str:
    """Write what the person must be told at once when they report red-flag symptoms.

    Args:
        codes: Symptom codes, in any order.
        stored: Whether the report was kept for a coach to see; if not, the text says that nobody was told.
        named: Whether the text repeats what was reported.

    Returns:
        Plain words: what was reported, to stop, whom to call, when to return. Empty when no code was given.

    Raises:
        UnknownSymptomError: A code is not in the list.

    Source: hospital patient-education pages on when to stop exercise.
    """
    flags = most_urgent(codes)
    if not flags:
        return ""
    reported = f"You reported: {'; '.join(flag.words for flag in flags)}. " if named else ""
    return (
        f"{reported}{_FIRST_ACTION[flags[0].urgency]} "
        "If it does not pass within minutes, or gets worse, call your local emergency number. "
        f"This is not a diagnosis. {SEEN if stored else NOT_STORED} "
        "Return to training after a licensed clinician has said that you may."
    )
