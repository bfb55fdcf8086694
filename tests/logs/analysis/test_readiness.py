from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logs.analysis.readiness import (
    FlagRecord,
    RuleState,
    advance,
    evidence_from_text,
    evidence_text,
    evidence_token,
    remembered,
    transitions,
)


def says(holds=True, evidence=("a",), kind="load_jump", scope="all"):
    return RuleState(kind=kind, scope=scope, holds=holds, sentence="…", evidence=tuple(evidence))


def flag(standing, evidence=("a",), kind="load_jump", scope="all"):
    return FlagRecord(kind=kind, scope=scope, standing=standing, evidence=tuple(evidence))


def stored(record, move):
    """What the writer keeps after a transition."""
    if move.step == "open":
        return flag("open", move.evidence, move.kind, move.scope)
    if move.step == "update":
        return flag(record.standing, move.evidence, move.kind, move.scope)
    return flag("closed", move.evidence, move.kind, move.scope) if move.step == "close" else record


@pytest.mark.parametrize(
    ("record", "state", "step"),
    [
        (None, says(), "open"),
        (None, says(holds=False), "none"),
        (flag("open"), says(), "update"),
        (flag("acknowledged"), says(), "update"),
        (flag("open"), says(holds=False), "close"),
        (flag("acknowledged"), says(holds=False), "close"),
        (flag("closed"), says(), "open"),
        (flag("closed"), says(holds=False), "none"),
        (flag("resolved"), says(), "none"),
        (flag("resolved"), says(evidence=("a", "b")), "open"),
        (flag("resolved", ("a", "b")), says(evidence=("b",)), "none"),
        (flag("resolved"), says(holds=False, evidence=("b",)), "none"),
    ],
)
def test_a_flag_moves_by_what_its_rule_says(record, state, step):
    assert advance(record, state).step == step


@pytest.mark.parametrize("kind", ["pain", "symptom"])
def test_pain_and_symptoms_are_closed_only_by_a_person(kind):
    assert advance(flag("open", kind=kind), says(holds=False, kind=kind)).step == "none"
    assert transitions([flag("open", kind=kind)], []) == []


def test_a_resolved_flag_stays_closed_after_its_newest_evidence_is_deleted():
    resolved = flag("resolved", ("a", "b", "c"))
    assert advance(resolved, says(evidence=("a", "b"))).step == "none"


def test_a_flag_opened_after_a_resolve_still_remembers_what_was_seen():
    move = advance(flag("resolved", ("a",)), says(evidence=("b",)))
    assert move.evidence == ("a", "b")


def test_a_standing_flag_gathers_its_evidence():
    move = advance(flag("open", ("a", "b")), says(evidence=("b", "c")))
    assert (move.step, move.evidence) == ("update", ("a", "b", "c"))


@given(st.lists(st.tuples(st.booleans(), st.sets(st.sampled_from("abcd"))) | st.just("resolve"), max_size=12))
@settings(max_examples=100)
def test_a_rule_that_says_the_same_again_opens_nothing_and_closes_nothing(story):
    record = None
    for event in story:
        if event == "resolve":
            record = flag("resolved", record.evidence) if record and record.standing == "open" else record
            continue
        state = says(holds=event[0], evidence=sorted(event[1]))
        record = stored(record, advance(record, state))
        again = advance(record, state)
        assert again.step in ("none", "update")
        assert stored(record, again) == record


def test_a_flag_of_which_no_rule_speaks_has_lost_its_ground():
    moves = transitions([flag("open"), flag("resolved", kind="gone_quiet")], [])
    assert [(move.step, move.kind, move.state) for move in moves] == [("close", "load_jump", None)]


def test_scopes_are_apart():
    knee, shoulder = "region:knee", "region:shoulder"
    moves = transitions(
        [flag("open", kind="pain", scope=knee)],
        [says(kind="pain", scope=shoulder), says(kind="pain", scope=knee, evidence=("b",))],
    )
    assert [(move.scope, move.step) for move in moves] == [(knee, "update"), (shoulder, "open")]


def test_the_order_of_flags_and_states_does_not_matter():
    flags = [flag("open"), flag("closed", kind="gone_quiet")]
    states = [says(), says(kind="gone_quiet"), says(kind="missed_in_a_row")]
    results = {
        tuple(transitions(f, s)) == tuple(transitions(flags, states))
        for f, s in product((flags, flags[::-1]), (states, states[::-1]))
    }
    assert results == {True}


def test_unlike_flags_and_states_are_refused():
    with pytest.raises(ValueError, match="cannot move"):
        advance(flag("open"), says(kind="pain"))
    with pytest.raises(ValueError, match="join them"):
        transitions([], [says(), says()])


def test_evidence_is_short_and_survives_being_written():
    tokens = tuple(evidence_token(f"session-{number}") for number in range(40))
    assert len(set(tokens)) == 40
    text = evidence_text(remembered(tokens[:25], tokens[20:]))
    assert len(text) < 300
    assert evidence_from_text(text) == tokens[10:]
    assert evidence_from_text("") == ()
