"""What holds of every session's timeline, whatever it asks for."""

from dataclasses import replace

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from programs.prescription.document import decode_session, encode_session
from programs.prescription.structure import Block, Session, SetGroup, Slot
from programs.prescription.tempo import parse_tempo
from programs.prescription.timeline import simulate
from programs.prescription.vocabulary import LISTED_ROUND_KINDS
from tests.programs.prescription.cast import EXERCISES

REPEATED = ["bench-press", "pull-up", "back-squat", "split-squat", "curl", "not-in-the-catalogue"]


@st.composite
def set_groups(draw, *, most=4):
    low = draw(st.integers(1, 15))
    return SetGroup(
        count=draw(st.integers(1, most)),
        reps_low=low,
        reps_high=low + draw(st.integers(0, 4)),
        tempo=draw(st.sampled_from([None, parse_tempo("41X1"), parse_tempo("20A0"), parse_tempo("3010")])),
    )


@st.composite
def slots(draw, key, *, in_rounds):
    groups = draw(st.lists(set_groups(most=1 if in_rounds else 4), min_size=1, max_size=1 if in_rounds else 2))
    return Slot(
        slot_key=key,
        exercise=draw(st.sampled_from(REPEATED)),
        goal=draw(st.sampled_from([None, "strength", "size"])),
        per_side=draw(st.booleans()),
        rest_s=draw(st.one_of(st.none(), st.integers(0, 240))),
        sets=tuple(groups),
    )


@st.composite
def blocks(draw, letter):
    kind = draw(
        st.sampled_from(["straight", "paired", "circuit", "interval", "rounds_for_time", "max_rounds", "every_minute"])
    )
    sizes = {"straight": (1, 1), "paired": (2, 4), "circuit": (2, 4)}
    number = draw(st.integers(*sizes.get(kind, (1, 3))))
    in_rounds = kind not in ("straight", "paired", "circuit")
    timing = {
        "interval": {"rounds": 4, "work_s": 30, "off_s": 30},
        "rounds_for_time": {"rounds": 3, "cap_min": draw(st.sampled_from([None, 4]))},
        "max_rounds": {"minutes": 6},
        "every_minute": {"minutes": 6},
    }
    return Block(
        kind=kind,
        slots=tuple(draw(slots(f"{letter}{index}", in_rounds=in_rounds)) for index in range(number)),
        **timing.get(kind, {}),
    )


@st.composite
def sessions(draw):
    return Session(blocks=tuple(draw(blocks(letter)) for letter in "ABC"[: draw(st.integers(1, 3))]))


def with_slot(session, block_index, slot):
    block = session.blocks[block_index]
    changed = replace(block, slots=(slot, *block.slots[1:]))
    return replace(session, blocks=(*session.blocks[:block_index], changed, *session.blocks[block_index + 1 :]))


@settings(max_examples=60, deadline=None)
@given(sessions())
def test_low_never_exceeds_high_and_the_events_add_up_without_a_gap(session):
    timeline = simulate(session, EXERCISES)
    assert 0 < timeline.low_s <= timeline.high_s
    assert sum(event.low_s for event in timeline.events) == timeline.low_s
    assert sum(event.high_s for event in timeline.events) == timeline.high_s
    clock = 0
    for event in timeline.events:
        assert event.start_high_s == clock
        clock += event.high_s


@settings(max_examples=60, deadline=None)
@given(sessions(), st.integers(1, 120))
def test_more_rest_never_shortens_a_session(session, more_s):
    slot = session.blocks[0].slots[0]
    if slot.rest_s is None:
        slot = replace(slot, rest_s=0)
    shorter = simulate(with_slot(session, 0, slot), EXERCISES)
    longer = simulate(with_slot(session, 0, replace(slot, rest_s=slot.rest_s + more_s)), EXERCISES)
    assert longer.low_s >= shorter.low_s
    assert longer.high_s >= shorter.high_s


@settings(max_examples=60, deadline=None)
@given(sessions(), set_groups())
def test_another_set_never_shortens_a_session(session, group):
    slot = session.blocks[0].slots[0]
    # In rounds for time a second set would not be another, but the second round's.
    assume(session.blocks[0].kind not in LISTED_ROUND_KINDS or session.blocks[0].rounds is None)
    more = simulate(with_slot(session, 0, replace(slot, sets=(*slot.sets, group))), EXERCISES)
    before = simulate(session, EXERCISES)
    assert more.low_s >= before.low_s
    assert more.high_s >= before.high_s


@settings(max_examples=100, deadline=None)
@given(sessions())
def test_straight_sets_with_the_same_effective_rests_are_never_quicker(session):
    timeline = simulate(session, EXERCISES)
    assert timeline.straight_equivalent_low_s >= timeline.low_s
    assert timeline.straight_equivalent_high_s >= timeline.high_s


@settings(max_examples=40, deadline=None)
@given(sessions())
def test_an_effective_rest_is_a_figure_or_a_reason(session):
    timeline = simulate(session, EXERCISES)
    for rest in [*timeline.effective_rests.values(), *timeline.muscle_rests.values()]:
        if rest.reason is None:
            assert rest.least_s is not None
            assert rest.most_s is not None
            assert 0 <= rest.least_s <= rest.most_s
        else:
            assert rest.least_s is None
            assert rest.most_s is None


@settings(max_examples=40, deadline=None)
@given(sessions())
def test_a_session_comes_back_equal_from_its_document(session):
    assert decode_session(encode_session(session)) == session
