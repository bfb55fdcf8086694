"""What is said about sets beside their amount: tempo, effort, load."""

from decimal import Decimal
from typing import Final

from programs.prescription.constants import (
    ASSISTANCE_MAX_KG,
    ASSISTANCE_MAX_LB,
    BAND_MAX_CHARACTERS,
    EFFORT_STEP,
    IN_RESERVE_MAX,
    LOAD_MAX_KG,
    LOAD_MAX_LB,
    PERCENT,
    PERCENT_MAX_PCT,
    PERCENT_MIN_PCT,
    RPE_MAX,
    RPE_MIN,
    TOP_CHANGE_MAX_PCT,
    TOP_CHANGE_MIN_PCT,
)
from programs.prescription.notation import figures
from programs.prescription.notation.characters import plain
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.line_grammar import LineTree
from programs.prescription.notation.quoting import unescaped
from programs.prescription.notation.remarks import Remarks
from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    Load,
    PercentLoad,
    RelativeToTopLoad,
    SameAsLoad,
)
from programs.prescription.tempo import Tempo, TempoError, parse_tempo
from programs.prescription.vocabulary import Reference

PLAIN_PERCENT_OF: Final[Reference] = "tested"
"""What a percentage is of where the text does not say: in the trade, the tested one-repetition maximum. Practice."""

IMPLEMENTS_MAX: Final = 2
"""The most implements held at once. Practice."""

_REFERENCES: Final[tuple[tuple[str, Reference], ...]] = (
    ("tm", "training_max"),
    ("training", "training_max"),
    ("e", "estimated"),
    ("working", "working"),
)
"""How the words for a reference load start; any other means the tested maximum. Practice."""

_MASS_LIMITS: Final = {"kg": (-ASSISTANCE_MAX_KG, LOAD_MAX_KG), "lb": (-ASSISTANCE_MAX_LB, LOAD_MAX_LB)}


def read_tempo(tree: LineTree, remarks: Remarks) -> Tempo | None:
    """Read a tempo, or say what was expected."""
    word = _words(tree)[0]
    text = word.text.removeprefix("tempo").removeprefix("at ").strip().lstrip(":@ ")
    try:
        tempo = parse_tempo(text)
    except TempoError as error:
        remarks.error(word, error.code, str(error))
        return None
    for phase in tempo.zero_movements():
        remarks.warning(
            word, "zero_movement", f"0 s on the {phase} part: nobody moves in no time; write 1 or more, or X."
        )
    return tempo


def read_effort(tree: LineTree, remarks: Remarks) -> tuple[str, Decimal] | None:
    """Read an effort as ``rpe`` or ``in_reserve`` with its figure; of a range the more cautious end, with a warning."""
    words = _words(tree)
    numbers = [word for word in words if word.type == "NUMBER"]
    reserve = any(word.type in ("RIR", "IN_RESERVE") for word in words)
    read = [figures.number(word, remarks) for word in numbers]
    values = [value for value in read if value is not None]
    if len(values) != len(numbers):
        return None
    kept = max(values) if reserve else min(values)
    if len(set(values)) > 1:
        remarks.warning(numbers[0], "range_not_held", f"One effort can be held, not a range; {kept:f} is kept.")
    return _effort(
        kept,
        numbers[0],
        remarks,
        reserve=reserve,
        bare=not reserve and words[0].type == "AT" and words[1].type == "NUMBER",
    )


def _effort(value: Decimal, word: Word, remarks: Remarks, *, reserve: bool, bare: bool) -> tuple[str, Decimal] | None:
    least, most = (Decimal(0), IN_RESERVE_MAX) if reserve else (RPE_MIN, RPE_MAX)
    name = "in reserve" if reserve else "RPE"
    if bare and value > RPE_MAX:
        remarks.error(
            word, "unit", f"@ {value:f} has no unit; expected kg, lb or %, a tempo such as @ 41X1, or an RPE."
        )
        return None
    if not least <= value <= most or value % EFFORT_STEP:
        remarks.error(word, "out_of_range", f"{value:f} {name}; expected {least} to {most} in halves.")
        return None
    return ("in_reserve" if reserve else "rpe"), value


def read_load(tree: LineTree, remarks: Remarks, *, each_hand: bool | None) -> Load | None:
    """Read a load.

    Args:
        tree: the load's part of the line.
        remarks: where faults go.
        each_hand: whether the exercise's loads are said for each hand; None where that is not known.
    """
    words = [word for word in _words(tree) if word.type != "AT"]
    match words[-1].type:
        case "LOAD":
            return _absolute(words, remarks, each_hand=each_hand)
        case "BODYWEIGHT":
            return BodyweightLoad()
        case "PERCENT" | "REFERENCE":
            return _percent(words, remarks)
        case "CHANGE" | "OF_TOP":
            return _of_top(words[-1], remarks)
        case "SAME_AS":
            return SameAsLoad(slot_key=remarks.raw(words[-1]).split()[-1].strip("[]"))
        case _:
            return read_band(unescaped(_inside(remarks.raw(words[-1]))), words[-1], remarks)


def read_band(text: str, word: Word, remarks: Remarks) -> BandLoad | None:
    """Read a band in the coach's words."""
    if 1 <= len(text) <= BAND_MAX_CHARACTERS:
        return BandLoad(text=text)
    remarks.error(word, "out_of_range", f"A band's name has 1 to {BAND_MAX_CHARACTERS} characters.")
    return None


def _inside(quoted: str) -> str:
    # The closing mark may be missing; the line then ends the text.
    closed = len(quoted) > 1 and plain(quoted[-1]) == '"'
    return quoted[1:-1] if closed else quoted[1:]


def _absolute(words: list[Word], remarks: Remarks, *, each_hand: bool | None) -> AbsoluteLoad | None:
    read = figures.load(words[-1], remarks)
    if read is None:
        return None
    value, unit = read
    if words[0].type == "NUMBER":
        held = figures.number(words[0], remarks)
        if held is None or held not in (1, IMPLEMENTS_MAX):
            remarks.error(
                words[0],
                "implements",
                "This reads as a number of weights held; expected 1 or 2, or sets and load apart, as in 1 x 5 @ 80 kg.",
            )
            return None
        if held == IMPLEMENTS_MAX and each_hand is False:
            value *= IMPLEMENTS_MAX
            remarks.note(
                words[0], "both_weights", f"This exercise's load is said in all: two weights are {value:f} {unit}."
            )
    least, most = _MASS_LIMITS[unit]
    inside = figures.within(value, words[-1], remarks, least=least, most=most, what="A load")
    return None if inside is None else AbsoluteLoad(value=inside, unit=unit)


def _percent(words: list[Word], remarks: Remarks) -> PercentLoad | None:
    value = figures.percentage(words[0], remarks)
    if value is None:
        return None
    inside = figures.within(value, words[0], remarks, least=PERCENT_MIN_PCT, most=PERCENT_MAX_PCT, what="A percentage")
    of = PLAIN_PERCENT_OF if words[-1].type == "PERCENT" else _reference(words[-1].text)
    return None if inside is None else PercentLoad(of=of, pct=inside)


def _reference(text: str) -> Reference:
    said = text.removeprefix("of").strip().removeprefix("the ").strip()
    return next((reference for start, reference in _REFERENCES if said.startswith(start)), "tested")


def _of_top(word: Word, remarks: Remarks) -> RelativeToTopLoad | None:
    value = figures.percentage(word, remarks)
    if value is None:
        return None
    if not word.text.startswith(("+", "-")):
        value -= PERCENT
    inside = figures.within(
        value, word, remarks, least=TOP_CHANGE_MIN_PCT, most=TOP_CHANGE_MAX_PCT, what="A change from the top set"
    )
    return None if inside is None else RelativeToTopLoad(pct=inside)


def _words(tree: LineTree) -> list[Word]:
    found: list[Word] = []
    for child in tree.children:
        found += _words(child) if isinstance(child, LineTree) else [child]
    return found
