"""A line's words put together by the grammar: the parsing library's LALR table, run over the words.

The grammar, its table and the check that it has no conflicts are the library's. Only the loop over the words stands
here: the library's own compares rules and symbols by value at every step, which took a third of a session's time.
"""

from collections.abc import Callable
from functools import cache, partial
from importlib.resources import files
from typing import Any, Final, NamedTuple, cast

from lark import Lark
from lark.grammar import Rule, Symbol
from lark.parsers.lalr_analysis import Shift

from programs.prescription.notation.lexer import Word

_LINE_END: Final = Word("$END", "", 0, 0)


class LineTree:
    """A rule of the grammar as it fits a line: the rule's name, and what it is made of."""

    __slots__ = ("children", "data")

    def __init__(self, data: str, children: "list[Word | LineTree]") -> None:
        self.data = data
        self.children = children


class MisfitError(Exception):
    """A word, or the line's end, that cannot stand where it does; ``expected`` are the terminals that could."""

    def __init__(self, expected: frozenset[str]) -> None:
        """Keep what was expected."""
        super().__init__()
        self.expected = expected


class _Reduction(NamedTuple):
    """How many parts a rule takes, what it is called where it stands, and what makes one part of them.

    ``make`` is None where the rule only passes its one part on.
    """

    size: int
    origin: str
    make: Callable[[list[Any]], Any] | None


class _Table(NamedTuple):
    """For each state, what each symbol leads to: another state, or the reduction of a rule."""

    actions: dict[int, dict[str, Any]]
    first: int
    last: int


class LineReading:
    """One line under way: its words are fed in their order, then the tree is asked for."""

    __slots__ = ("_parts", "_states", "_table")

    def __init__(self) -> None:
        """Start a line."""
        self._table = _table()
        self._states = [self._table.first]
        self._parts: list[Any] = []

    @property
    def allowed(self) -> frozenset[str]:
        """The terminals that may come next."""
        return frozenset(name for name in self._table.actions[self._states[-1]] if name.isupper())

    def feed(self, word: Word) -> None:
        """Take the next word: reduce the rules that end before it, and go on to the state that it leads to.

        Raises:
            MisfitError: it cannot stand here.
        """
        actions, _, last = self._table
        states, parts = self._states, self._parts
        kind = word.type
        action: Any = actions[states[-1]].get(kind)
        while action.__class__ is _Reduction:
            size, origin, make = action
            if make is not None:
                made = make(parts[-size:])
                del parts[-size:]
                parts.append(made)
            del states[-size:]
            state = actions[states[-1]][origin]
            states.append(state)
            if state == last:
                return
            action = actions[state].get(kind)
        if action is None:
            raise MisfitError(self.allowed)
        states.append(action)
        parts.append(word)

    def tree(self) -> LineTree:
        """End the line, and give what the grammar makes of it.

        Raises:
            MisfitError: the line cannot end here.
        """
        self.feed(_LINE_END)
        return cast("LineTree", self._parts[-1])


@cache
def lark_grammar() -> Lark:
    """Give the grammar of a line as the parsing library holds it."""
    text = files(__package__).joinpath("session.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr", lexer="basic", maybe_placeholders=False)


@cache
def _table() -> _Table:
    conf = lark_grammar().parse_interactive().parser_state.parse_conf
    reductions: dict[Rule, _Reduction] = {}
    actions: dict[int, dict[str, Any]] = {}
    for state, found in conf.states.items():
        actions[state] = {
            str(symbol): to if action is Shift else reductions.setdefault(to, _reduction(to))
            for symbol, (action, to) in found.items()
        }
    return _Table(actions, conf.start_state, conf.end_state)


def _reduction(rule: Rule) -> _Reduction:
    taken = [
        (place, _is_run(symbol))
        for place, symbol in enumerate(rule.expansion)
        if not (symbol.is_term and symbol.filter_out)  # type: ignore[attr-defined]
    ]
    name = str(rule.alias or rule.origin.name)
    size = len(rule.expansion)
    passes = name.startswith("_") and size == 1 and taken == [(0, True)]
    make = None if passes else _maker(None if name.startswith("_") else name, taken, size)
    return _Reduction(size, str(rule.origin.name), make)


def _maker(name: str | None, taken: list[tuple[int, bool]], size: int) -> Callable[[list[Any]], Any]:
    """Give what makes a tree of a rule's parts, or, without a name, a run that stands in the rule round it."""
    if len(taken) == size and not any(is_run for _, is_run in taken):
        return list if name is None else partial(LineTree, name)

    def made(parts: list[Any]) -> Any:
        children: list[Any] = []
        for place, is_run in taken:
            if not is_run:
                children.append(parts[place])
            elif children:
                children += parts[place]
            else:
                # A run is a part of no other rule: it grows in place, so that long lines stay linear.
                children = parts[place]
        return children if name is None else LineTree(name, children)

    return made


def _is_run(symbol: Symbol) -> bool:
    return not symbol.is_term and symbol.name.startswith("_")
