"""Reading a written progression: text in, rules and faults out. No text makes it raise."""

from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any, Final, cast

from lark import Lark, Token, Tree, UnexpectedCharacters, UnexpectedInput, UnexpectedToken
from pydantic import ValidationError

from programs.prescription.constants import PROGRESSION_RULES_MAX
from programs.prescription.document_faults import shape_faults
from programs.prescription.notation.characters import plain
from programs.prescription.notation.faults import WrittenFault
from programs.prescription.progression_document import read_rule
from programs.prescription.progression_fields import RULE_PARTS, RulePart
from programs.prescription.progression_notation.expected import expected_words
from programs.prescription.progression_notation.fields import parts_of, rule_fields
from programs.prescription.progression_rules import ProgressionRule

_FOUND_SHOWN: Final = 30
"""How many characters of what was found are told. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadProgression:
    """The rules that were read, and every fault in the order of the text; ``lines`` has the line of each rule."""

    rules: tuple[ProgressionRule, ...] = ()
    lines: tuple[int, ...] = ()
    faults: tuple[WrittenFault, ...] = ()

    @property
    def has_errors(self) -> bool:
        """Whether anything was not read as written."""
        return bool(self.faults)


def parse_progression(text: str) -> ReadProgression:
    """Read a progression as coaches write it: one rule on a line.

    ``A1, B2 in lower-a: +2.5 kg every week from week 3 to week 6``, ``B1: 75, 80, 85 %``, ``+1 rep to 8``,
    ``C1: eccentric +1 s to 6 s``, ``rest -5 s to 45 s``, ``B: double progression to 12, +1 kg``,
    ``wave +5 % -1 rep, +10 % -2 reps``, ``deload every 4 weeks, 60 % of sets, -10 % load``. What stands before a colon
    names slots, and after ``in`` sessions by their template keys; without it a rule is for all. Notes follow ``--``.

    Args:
        text: the rules as written, any line ends.
    """
    rules: list[ProgressionRule] = []
    lines: list[int] = []
    faults: list[WrittenFault] = []
    for number, written in enumerate(text.splitlines(), start=1):
        if not plain(written).partition("--")[0].strip():
            continue
        if len(rules) == PROGRESSION_RULES_MAX:
            sentence = f"A progression has at most {PROGRESSION_RULES_MAX} rules; take some out."
            faults.append(_fault(number, written, 0, "too_many", sentence))
            break
        found = _read_line(number, written)
        if isinstance(found, list):
            faults += found
        else:
            rules.append(found)
            lines.append(number)
    return ReadProgression(rules=tuple(rules), lines=tuple(lines), faults=tuple(faults))


def _read_line(number: int, written: str) -> ProgressionRule | list[WrittenFault]:
    try:
        tree = _grammar().parse(plain(written))
    except UnexpectedInput as error:
        return [_misfit(number, written, error)]
    said = _Said()
    for part in parts_of(tree):
        said.take(part, written)
    if said.twice:
        sentence = "This is said twice in one rule; say it once, or write a rule for each."
        return [_fault(number, written, at, "said_twice", sentence) for at in said.twice]
    part_of = RULE_PARTS[str(said.fields["kind"])]
    try:
        return read_rule(cast("RulePart", part_of.model_validate(said.fields)))
    except ValidationError as error:
        return [
            _fault(number, written, said.place(fault.pointer), fault.code, fault.message)
            for fault in shape_faults(error, part_of)
        ]


@cache
def _grammar() -> Lark:
    text = files(__package__).joinpath("progression.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr", lexer="contextual", maybe_placeholders=False, propagate_positions=True)


def _misfit(number: int, written: str, error: UnexpectedInput) -> WrittenFault:
    if isinstance(error, UnexpectedToken) and error.token.type != "$END":
        at = error.token.start_pos or 0
    elif isinstance(error, UnexpectedCharacters):
        at = error.pos_in_stream
    else:
        at = len(written.rstrip())
    allowed = error.allowed if isinstance(error, UnexpectedCharacters) else getattr(error, "accepts", None)
    rest = written[at:].strip()
    found = f"Found {rest[:_FOUND_SHOWN]!r}" if rest else "The line ends here"
    return _fault(number, written, at, "unexpected", f"{found}; expected {expected_words(set(allowed or ()))}.")


def _fault(number: int, written: str, at: int, code: str, message: str) -> WrittenFault:
    column = min(at, len(written)) + 1
    return WrittenFault(line=number, column=column, code=code, severity="error", message=message)


@dataclass(slots=True)
class _Said:
    """The fields of one line's rule, where each stands in the line, and where something is said again."""

    fields: dict[str, Any] = field(default_factory=dict)
    places: dict[str, int] = field(default_factory=dict)
    twice: list[int] = field(default_factory=list)

    def take(self, part: Tree[Token], written: str) -> None:
        """Take what a part of the line says."""
        start = part.meta.start_pos
        self.twice += _repeats(part)
        for name, value in rule_fields(part, written).items():
            if name in self.fields:
                self.twice.append(start)
            self.fields[name] = value
            self.places[name] = start

    def place(self, pointer: str) -> int:
        """Return where the field of a fault stands; where the rule starts if it stands nowhere."""
        name = pointer.removeprefix("#").strip("/").partition("/")[0]
        return self.places.get(name, min(self.places.values()))


def _repeats(part: Tree[Token]) -> list[int]:
    """Find what a deload or a week of a wave says again."""
    repeated: list[int] = []
    for whole in (part, *parts_of(part)):
        names = [str(child.data) for child in parts_of(whole) if child.data != "wave_week"]
        repeated += [
            child.meta.start_pos
            for index, child in enumerate(parts_of(whole))
            if child.data != "wave_week" and str(child.data) in names[:index]
        ]
    return repeated
