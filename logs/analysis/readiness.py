"""Flags: what a rule says today, and the state machine that turns days of it into one flag.

A rule is a pure function from facts to a `RuleState`. A flag opens once, is updated while its rule holds, closes
itself when the ground is gone (pain and symptoms only by a person), and after a person's resolve stays closed until
there is evidence that this person has not seen. Absences are left out of every rule.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from hashlib import blake2s
from typing import Final, Literal

from logs.analysis.constants import EVIDENCE_TOKEN_BYTES, EVIDENCE_TOKENS
from logs.analysis.references import PRACTICE

FlagKind = Literal[
    "symptom",
    "pain",
    "load_jump",
    "low_wellness",
    "resting_heart_rate_up",
    "missed_in_a_row",
    "gone_quiet",
    "program_runs_out",
    "sessions_cut_short",
    "session_too_long",
    "effort_creep",
    "tempo_faults",
]
Severity = Literal["note", "watch", "stop"]
Action = Literal["note", "no_increase", "stop_movement", "stop_training", "contact"]
Standing = Literal["open", "acknowledged", "resolved", "closed"]
Step = Literal["open", "update", "close", "none"]

FLAG_KINDS: Final[tuple[FlagKind, ...]] = (
    "symptom",
    "pain",
    "load_jump",
    "low_wellness",
    "resting_heart_rate_up",
    "missed_in_a_row",
    "gone_quiet",
    "program_runs_out",
    "sessions_cut_short",
    "session_too_long",
    "effort_creep",
    "tempo_faults",
)
"""The kinds of flag. Practice."""

CLOSED_BY_PERSON: Final[frozenset[FlagKind]] = frozenset({"symptom", "pain"})
"""Kinds that never close themselves. Practice."""

DAILY_KINDS: Final[frozenset[FlagKind]] = frozenset({"effort_creep", "tempo_faults"})
"""Kinds whose rules read weeks of sets: asked once a client and local day, not at each log. Practice."""

ALL_SCOPE: Final = "all"
"""The scope of a flag about the whole person. Practice."""

Figure = str | int | list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleState:
    """What one rule says about one client, kind and scope.

    Attributes:
        kind: The kind of flag.
        scope: `all`, `exercise:<key>` or `region:<site>` with its side where one was said.
        holds: Whether the rule holds.
        severity: `note`, `watch` or `stop`.
        action: What is asked of the coach or the program.
        sentence: The finding in plain words; when it does not hold, why not.
        figures: The figures behind it, ready for JSON.
        rule: The rule in words, with its thresholds.
        source: Where the rule comes from.
        caution: What the finding is not, and what must be said with it; may be empty.
        evidence: Short tokens of what it rests on, oldest first.
    """

    kind: FlagKind
    scope: str = ALL_SCOPE
    holds: bool
    severity: Severity = "watch"
    action: Action = "note"
    sentence: str
    figures: Mapping[str, Figure] = field(default_factory=dict)
    rule: str = ""
    source: str = PRACTICE
    caution: str = ""
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FlagRecord:
    """The latest flag of a client, kind and scope, as stored.

    Attributes:
        kind: The kind of flag.
        scope: Its scope.
        standing: `open`, `acknowledged`, `resolved` (by a person) or `closed` (by itself).
        evidence: Every token that it rested on so far.
    """

    kind: FlagKind
    scope: str
    standing: Standing
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Transition:
    """What to do with a flag.

    Attributes:
        step: `open` a new flag, `update` or `close` the standing one, or `none`.
        kind: The kind of flag.
        scope: Its scope.
        state: What the rule says; None where no rule spoke and the ground is gone with it.
        evidence: The tokens to store: what the flag rested on so far with what is new, newest last.
    """

    step: Step
    kind: FlagKind
    scope: str
    state: RuleState | None
    evidence: tuple[str, ...] = ()


def advance(flag: FlagRecord | None, state: RuleState) -> Transition:
    """Move one flag by one rule state. Moving it again by the same state changes nothing more.

    Args:
        flag: The latest flag of this client, kind and scope; None when there was none.
        state: What the rule says now.

    Returns:
        The transition. A standing flag is updated while the rule holds and closed when it does not, unless its kind
        is closed only by a person. A resolved flag gives way to a new one only where the state has evidence that the
        resolved one had not; one that closed itself, whenever the rule holds.

    Raises:
        ValueError: Flag and state are of unlike kind or scope.

    Source: practice.
    """
    if flag is not None and (flag.kind, flag.scope) != (state.kind, state.scope):
        raise ValueError(f"A state of {state.kind} {state.scope} cannot move a flag of {flag.kind} {flag.scope}.")
    standing = None if flag is None else flag.standing
    seen = () if flag is None else flag.evidence
    step: Step
    if standing in ("open", "acknowledged"):
        step = "update" if state.holds else _step_without_ground(state.kind)
    else:
        unseen = standing != "resolved" or bool(set(state.evidence) - set(seen))
        step = "open" if state.holds and unseen else "none"
    kept = state.evidence if step == "open" and standing != "resolved" else remembered(seen, state.evidence)
    return Transition(step=step, kind=state.kind, scope=state.scope, state=state, evidence=kept)


def transitions(flags: Iterable[FlagRecord], states: Iterable[RuleState]) -> list[Transition]:
    """Move all of a client's flags by all that the rules say.

    Args:
        flags: The latest flag of each kind and scope.
        states: What the rules say now, one per kind and scope at most.

    Returns:
        The transitions that change something, in the order of kind and scope. A standing flag of which no rule speaks
        has lost its ground.

    Raises:
        ValueError: Two states of one kind and scope.

    Source: practice.
    """
    latest = {(flag.kind, flag.scope): flag for flag in flags}
    said: dict[tuple[FlagKind, str], RuleState] = {}
    for state in states:
        if (state.kind, state.scope) in said:
            raise ValueError(f"Two states of {state.kind} {state.scope}; join them before moving the flag.")
        said[state.kind, state.scope] = state
    moves = [advance(latest.get(key), state) for key, state in said.items()]
    for key, flag in latest.items():
        if key not in said and flag.standing in ("open", "acknowledged"):
            step = _step_without_ground(flag.kind)
            moves.append(Transition(step=step, kind=flag.kind, scope=flag.scope, state=None, evidence=flag.evidence))
    return sorted((move for move in moves if move.step != "none"), key=lambda move: (move.kind, move.scope))


def remembered(seen: Iterable[str], new: Iterable[str]) -> tuple[str, ...]:
    """Add evidence to what a flag remembers.

    Args:
        seen: Tokens remembered so far, oldest first.
        new: Tokens of the present state, oldest first.

    Returns:
        Both without repeats, the present ones last; only the newest 30 are kept.

    Source: practice.
    """
    present = tuple(dict.fromkeys(new))
    return (*(token for token in dict.fromkeys(seen) if token not in present), *present)[-EVIDENCE_TOKENS:]


def evidence_token(identity: str) -> str:
    """Shorten the identity of a log or session, so that a flag can remember many.

    Args:
        identity: Any text that names the evidence, such as an id.

    Returns:
        Eight hexadecimal digits.

    Source: practice.
    """
    return blake2s(identity.encode(), digest_size=EVIDENCE_TOKEN_BYTES).hexdigest()


def evidence_text(evidence: Iterable[str]) -> str:
    """Write evidence as one line, for storing.

    Args:
        evidence: Tokens without spaces.

    Returns:
        The tokens with one space between; at most 30 tokens, so under 300 characters for digests.

    Source: practice.
    """
    return " ".join(tuple(evidence)[-EVIDENCE_TOKENS:])


def evidence_from_text(text: str) -> tuple[str, ...]:
    """Read evidence back from its line.

    Args:
        text: A line from `evidence_text`.

    Returns:
        The tokens.

    Source: practice.
    """
    return tuple(text.split())


def _step_without_ground(kind: FlagKind) -> Step:
    return "none" if kind in CLOSED_BY_PERSON else "close"
