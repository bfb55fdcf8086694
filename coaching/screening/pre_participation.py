"""The published pre-participation algorithm: who should see a clinician before training.

Three facts decide: regular activity, known disease, and signs or symptoms; the intended intensity refines them.
Unknown is read as the more cautious answer. The service clears nobody: it says what the rule recommends, and records
elsewhere who said that a person may train.
"""

from dataclasses import dataclass
from typing import Final, Literal

from coaching.screening.references import PRE_PARTICIPATION

Intensity = Literal["light_to_moderate", "vigorous"]
Standing = Literal["not_needed", "recommended", "stop_and_seek"]

INTENSITIES: Final[tuple[Intensity, ...]] = ("light_to_moderate", "vigorous")
"""Light to moderate is under 60 % of heart-rate reserve, vigorous 60 % or more. Source: Riebe et al. 2015."""

CAUTION: Final = (
    "This follows a published screening rule and is not a medical clearance. Only a licensed clinician can say that "
    "a person may train; local rules come first."
)
"""Said with every recommendation. Practice."""


class ScreeningAnswerError(ValueError):
    """An answer that the algorithm does not know."""

    code = "invalid_screening_answer"


@dataclass(frozen=True, slots=True)
class Recommendation:
    """What the rule recommends.

    Attributes:
        see_clinician: Whether clearance by a clinician is recommended before the intended intensity.
        stop: Whether a person who trains should stop until cleared.
        standing: `not_needed`, `recommended` or `stop_and_seek`.
        sentence: The recommendation in plain words, with how to start.
        read_cautiously: The answers that were unknown and were read as the more cautious one.
        caution: What this is not.
        source: Where the rule comes from.
    """

    see_clinician: bool
    stop: bool
    standing: Standing
    sentence: str
    read_cautiously: tuple[str, ...]
    caution: str = CAUTION
    source: str = PRE_PARTICIPATION


_NEW_FREE = "No clearance is needed before starting. Start light to moderate and progress gradually."
_NEW_FREE_VIGOROUS = (
    "No clearance is needed before starting. Start light to moderate, and progress gradually to vigorous exercise."
)
_NEW_DISEASE = (
    "With a known heart, metabolic or kidney disease, see a clinician before starting. After clearance start light to "
    "moderate and progress as tolerated."
)
_NEW_SYMPTOMS = (
    "With signs or symptoms, see a clinician before starting. After clearance start light to moderate and progress "
    "as tolerated."
)
_ACTIVE_FREE = "No clearance is needed. Continue moderate to vigorous exercise and progress gradually."
_ACTIVE_DISEASE = "No clearance is needed to continue moderate exercise. See a clinician before vigorous exercise."
_ACTIVE_DISEASE_VIGOROUS = (
    "See a clinician before vigorous exercise, unless cleared within the last 12 months with no change in symptoms. "
    "Moderate exercise may continue."
)
_STOP = "Stop exercising and see a clinician. Return to exercise only after clearance."


def recommendation(
    *, active: bool | None, disease: bool | None, symptoms: bool | None, intensity: Intensity | None
) -> Recommendation:
    """Apply the pre-participation algorithm.

    Args:
        active: Regularly active: 30 minutes of moderate exercise or more on 3 days a week or more, for 3 months or
            more. None is an unknown answer.
        disease: Known cardiovascular, metabolic or renal disease. None is an unknown answer.
        symptoms: Signs or symptoms of such disease. None is an unknown answer.
        intensity: `light_to_moderate` or `vigorous`, as intended. None is an unknown answer.

    Returns:
        The recommendation. Unknown answers are read as: not active, disease, symptoms, vigorous; and symptoms in
        someone whose activity is unknown mean stop, as in someone active.

    Raises:
        ScreeningAnswerError: An answer is none of those above.

    Source: Riebe et al. 2015, Med Sci Sports Exerc 47:2473-2479; reading unknown cautiously is practice.
    """
    answers = {"active": active, "disease": disease, "symptoms": symptoms}
    _check(answers, intensity)
    unknown = tuple(name for name, answer in (answers | {"intensity": intensity}).items() if answer is None)
    vigorous = intensity != "light_to_moderate"
    if symptoms is not False:
        # Someone who may already be training is told to stop, so only a plain "no" spares them that word.
        standing, sentence = _with_symptoms(may_be_training=active is not False)
    elif disease is not False:
        standing, sentence = _with_disease(active=active is True, vigorous=vigorous)
    else:
        standing, sentence = "not_needed", _free(active=active is True, vigorous=vigorous)
    return Recommendation(
        see_clinician=standing != "not_needed",
        stop=standing == "stop_and_seek",
        standing=standing,
        sentence=sentence + _unknown_sentence(unknown),
        read_cautiously=unknown,
    )


def _check(answers: dict[str, bool | None], intensity: str | None) -> None:
    for name, answer in answers.items():
        if answer is not None and not isinstance(answer, bool):
            raise ScreeningAnswerError(f"Answer {name} with true, false or null, not {answer!r}.")
    if intensity is not None and intensity not in INTENSITIES:
        raise ScreeningAnswerError(f"The intensity is one of {', '.join(INTENSITIES)}, or null; not {intensity!r}.")


def _with_symptoms(*, may_be_training: bool) -> tuple[Standing, str]:
    return ("stop_and_seek", _STOP) if may_be_training else ("recommended", _NEW_SYMPTOMS)


def _with_disease(*, active: bool, vigorous: bool) -> tuple[Standing, str]:
    if not active:
        return "recommended", _NEW_DISEASE
    return ("recommended", _ACTIVE_DISEASE_VIGOROUS) if vigorous else ("not_needed", _ACTIVE_DISEASE)


def _free(*, active: bool, vigorous: bool) -> str:
    if active:
        return _ACTIVE_FREE
    return _NEW_FREE_VIGOROUS if vigorous else _NEW_FREE


def _unknown_sentence(unknown: tuple[str, ...]) -> str:
    if not unknown:
        return ""
    return f" Not known and read as the more cautious answer: {', '.join(unknown)}."
