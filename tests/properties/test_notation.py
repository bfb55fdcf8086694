"""What holds of every written session."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from programs.prescription.document import decode_session, encode_session
from programs.prescription.names import exercise_slug
from programs.prescription.notation import parse_session, print_session
from programs.prescription.notation.quoting import quoted, unescaped
from tests.programs.prescription.notation.sessions import sessions

UNHURRIED = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


@UNHURRIED
@given(sessions())
def test_every_admitted_session_is_read_back_equal_from_its_own_print(session):
    assert decode_session(encode_session(session)) == session
    printed = print_session(session)
    result = parse_session(printed)
    assert [fault for fault in result.faults if fault.severity == "error"] == [], printed
    assert result.session == session, printed


@settings(UNHURRIED, max_examples=25)
@given(sessions())
def test_printing_what_was_read_from_a_print_changes_nothing(session):
    printed = print_session(session)
    assert print_session(parse_session(printed).session) == printed


@settings(max_examples=200)
@given(st.text())
def test_a_name_always_gives_the_same_key_and_a_key_gives_itself(name):
    assert exercise_slug(exercise_slug(name)) == exercise_slug(name)


@settings(max_examples=200)
@given(st.text())
def test_quoted_text_stands_on_one_line_and_is_read_back_equal(text):
    assert quoted(text).isprintable()
    assert unescaped(quoted(text)[1:-1]) == text


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_at_all_is_answered(text):
    result = parse_session(text)
    assert result.faults or result.session.blocks
    if not result.has_errors:
        assert decode_session(encode_session(result.session)) == result.session
