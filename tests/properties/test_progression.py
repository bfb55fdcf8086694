"""What holds of every expansion, whatever the rules."""

from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.document import decode_version, encode_version
from programs.prescription.progression import ProgressionError, expand
from programs.prescription.version_diff import diff_versions
from tests.programs.prescription.cast import EXERCISES
from tests.programs.prescription.test_progression import DAY, FALLING_DAY, content

PACES = st.fixed_dictionaries({"every_weeks": st.integers(1, 3)}, optional={"from_week": st.integers(4, 6)})
TARGETS = st.sampled_from([{}, {"slot_keys": ["A1"]}, {"slot_keys": ["A1", "B1"], "template_keys": ["full-a"]}])


@st.composite
def rules(draw):
    kind = draw(
        st.sampled_from(
            [
                {"kind": "load_step", "step_kg": "2.5"},
                {"kind": "load_step", "step_pct": "-3"},
                {"kind": "double_progression", "reps_high": 10, "step_kg": "2"},
                {"kind": "reps_step", "step_reps": 1, "limit_reps": 12},
                {"kind": "set_step", "step_sets": 1, "limit_sets": 6},
                {"kind": "wave", "weeks": [{"load_pct": "5", "reps": -1}, {"sets": 1}]},
                {"kind": "deload", "every_weeks": 4},
                {"kind": "deload", "every_weeks": 3, "sets_pct": "34", "load_pct": "-25"},
                {"kind": "deload", "every_weeks": 2, "sets_pct": "50", "rounds_pct": "50"},
            ]
        )
    )
    if kind["kind"] == "deload":
        return kind
    return {**kind, **draw(TARGETS), **({} if kind["kind"] == "wave" else draw(PACES))}


def expanded_or_faults(written, weeks):
    try:
        return expand(written, weeks, EXERCISES), ()
    except ProgressionError as error:
        return None, error.faults


@settings(max_examples=60, deadline=None)
@given(st.lists(rules(), max_size=4), st.integers(1, 12))
def test_expanding_leaves_week_one_makes_a_document_that_reads_back_and_settles(listed, weeks):
    written = content(*listed, days=(DAY, FALLING_DAY))
    expanded, faults = expanded_or_faults(written, weeks)
    if expanded is None:
        assert {fault.pointer.split("/")[1] for fault in faults} == {"progression"}
        return
    assert expanded.weeks[0] == written.weeks[0]
    assert [week.week_number for week in expanded.weeks] == list(range(1, weeks + 1))
    assert decode_version(encode_version(expanded)) == expanded
    assert expand(expanded, weeks, EXERCISES) == expanded
    assert diff_versions(expanded, expanded) == ()
