"""Whatever rules a document admits can be printed and read back equal; no text makes the reader raise."""

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.progression_notation import parse_progression, print_progression
from programs.prescription.progression_rules import (
    Deload,
    DoubleProgression,
    LoadChange,
    LoadStep,
    PercentRule,
    RepetitionStep,
    RestStep,
    SetStep,
    StepPace,
    Targets,
    TempoStep,
    Wave,
    WaveWeek,
)

KEYS = st.from_regex(r"\A[A-Za-z0-9][A-Za-z0-9._-]{0,7}\Z")
TEMPLATES = st.from_regex(r"\A[a-z0-9]{1,4}(-[a-z0-9]{1,4}){0,2}\Z")
PCT = st.decimals(Decimal(-100), Decimal(100), places=2)
TARGETS = st.builds(
    Targets,
    slot_keys=st.lists(KEYS, max_size=3).map(tuple),
    template_keys=st.lists(TEMPLATES, max_size=2).map(tuple),
)
CHANGES = st.one_of(
    st.builds(
        LoadChange, amount=st.decimals(Decimal(-200), Decimal(200), places=3), unit=st.sampled_from(["kg", "lb"])
    ),
    st.builds(LoadChange, pct=PCT),
)


@st.composite
def paces(draw: st.DrawFn) -> StepPace:
    every = draw(st.integers(1, 8))
    first = draw(st.none() | st.integers(2, 20))
    last = draw(st.none() | st.integers(first or 1 + every, 40))
    return StepPace(every_weeks=every, from_week=first, to_week=last)


def stepped(rule: type, **fields: st.SearchStrategy) -> st.SearchStrategy:
    return st.builds(rule, targets=TARGETS, pace=paces(), **fields)


RULES = st.one_of(
    stepped(LoadStep, change=CHANGES),
    stepped(PercentRule, step_pct=PCT),
    stepped(PercentRule, pcts=st.lists(st.decimals(10, 110, places=1), min_size=1, max_size=6).map(tuple)),
    stepped(RepetitionStep, step_reps=st.integers(-20, 20), limit_reps=st.none() | st.integers(1, 30)),
    stepped(SetStep, step_sets=st.integers(-5, 5), limit_sets=st.none() | st.integers(1, 10)),
    stepped(RestStep, step_s=st.integers(-60, 60), limit_s=st.none() | st.integers(0, 300)),
    stepped(
        TempoStep,
        phase=st.sampled_from(["eccentric", "lengthened", "concentric", "shortened"]),
        step_s=st.integers(-5, 5),
        limit_s=st.none() | st.integers(0, 10),
    ),
    stepped(DoubleProgression, reps_high=st.integers(2, 30), change=CHANGES, step_reps=st.integers(1, 5)),
    st.builds(
        Wave,
        weeks=st.lists(
            st.builds(WaveWeek, load_pct=PCT, reps=st.integers(-5, 5), sets=st.integers(-2, 2)), min_size=1, max_size=4
        ).map(tuple),
        targets=TARGETS,
    ),
    st.builds(
        Deload,
        every_weeks=st.integers(2, 12),
        sets_pct=st.decimals(1, 100, places=1),
        load_pct=st.decimals(-50, 10, places=1),
        rounds_pct=st.none() | st.decimals(1, 100, places=1),
    ),
)
WORDS = st.sampled_from(
    [
        "A1",
        ":",
        "+2.5",
        "kg",
        "%",
        "rep",
        "to",
        "week",
        "every",
        "4",
        "weeks",
        "deload",
        "wave",
        ",",
        "rest",
        "s",
        "in",
        "[",
        "]",
        "--",
        "75,",
        "double",
        "x",
        "\n",
        "\u0661",
    ]
)


@settings(max_examples=150, deadline=None)
@given(st.lists(RULES, max_size=4))
def test_printed_rules_read_back_equal(rules):
    read = parse_progression(print_progression(rules))
    assert read.faults == ()
    assert list(read.rules) == rules


@settings(max_examples=200, deadline=None)
@given(st.lists(WORDS, max_size=14).map(" ".join) | st.text(max_size=60))
def test_no_text_makes_the_reader_raise(text):
    read = parse_progression(text)
    for fault in read.faults:
        assert 1 <= fault.line <= len(text.splitlines())
        assert fault.column >= 1
        assert fault.message.endswith(".")
