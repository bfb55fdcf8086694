"""What holds of every tempo that can be written."""

from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.tempo import Tempo, TempoError, parse_tempo

SECONDS = st.integers(min_value=0, max_value=60)
CONCENTRICS = st.one_of(SECONDS, st.sampled_from("XA"))
PHASES = ("eccentric", "lengthened", "concentric", "shortened")


@st.composite
def tempos(draw):
    concentric = draw(CONCENTRICS)
    return Tempo(
        eccentric_s=draw(SECONDS),
        lengthened_s=draw(SECONDS),
        concentric_s=concentric if isinstance(concentric, int) else 0,
        shortened_s=draw(SECONDS),
        explosive=concentric == "X",
        assisted=concentric == "A",
    )


@settings(max_examples=100)
@given(tempos())
def test_a_printed_tempo_is_read_back_equal(tempo):
    assert parse_tempo(str(tempo)) == tempo


@settings(max_examples=100)
@given(st.tuples(SECONDS, SECONDS, CONCENTRICS, SECONDS), st.sampled_from("-/."), st.booleans())
def test_every_separator_says_the_same_and_prints_the_same(parts, separator, lower):
    text = separator.join(str(part) for part in parts)
    tempo = parse_tempo(text.lower() if lower else text)
    assert tempo == parse_tempo("-".join(str(part) for part in parts))
    assert parse_tempo(str(tempo)) == tempo


@settings(max_examples=50)
@given(tempos(), st.sampled_from(["shortened", "lengthened"]))
def test_the_performing_order_is_a_rotation_that_ends_where_it_starts(tempo, starts_at):
    order = tempo.performing_order(starts_at)
    turns = [PHASES[turn:] + PHASES[:turn] for turn in range(4)]
    assert order in turns
    assert order[-1] == starts_at


@settings(max_examples=100)
@given(tempos(), st.sampled_from(["shortened", "lengthened", "none"]))
def test_working_time_never_exceeds_the_repetition_nor_goes_below_nothing(tempo, restful_end):
    assert 0 <= tempo.working_s(restful_end) <= tempo.repetition_s()
    assert tempo.repetition_s(explosive_s=0) <= tempo.repetition_s()


@settings(max_examples=200)
@given(st.text(max_size=12))
def test_any_text_is_a_tempo_or_is_refused_with_a_sentence(text):
    refusal = None
    try:
        tempo = parse_tempo(text)
    except TempoError as error:
        refusal = str(error)
    else:
        assert parse_tempo(str(tempo)) == tempo
    assert refusal is None or refusal.startswith("Tempo: found ")
