import pytest

from programs.prescription.phase_words import PhaseWords
from programs.prescription.tempo import Tempo, TempoError, parse_tempo, performed_words
from tests.programs.prescription.cast import BENCH_PRESS, PULL_UP

VALID = [
    ("41X1", Tempo(eccentric_s=4, lengthened_s=1, concentric_s=0, shortened_s=1, explosive=True)),
    ("3010", Tempo(eccentric_s=3, lengthened_s=0, concentric_s=1, shortened_s=0)),
    ("31a0", Tempo(eccentric_s=3, lengthened_s=1, concentric_s=0, shortened_s=0, assisted=True)),
    (" 31x2 ", Tempo(eccentric_s=3, lengthened_s=1, concentric_s=0, shortened_s=2, explosive=True)),
    ("4-1-X-1", Tempo(eccentric_s=4, lengthened_s=1, concentric_s=0, shortened_s=1, explosive=True)),
    ("10/0/10/0", Tempo(eccentric_s=10, lengthened_s=0, concentric_s=10, shortened_s=0)),
    ("5.0.3.60", Tempo(eccentric_s=5, lengthened_s=0, concentric_s=3, shortened_s=60)),
]

AMBIGUOUS = (
    "Tempo: found three parts in '301', which could leave out either pause; "
    "expected four: eccentric, lengthened pause, concentric, shortened pause."
)
FOUR = "four (write four parts such as 41X1 or 4-1-X-1)"
INVALID = [
    ("", f"Tempo: found 0 parts in ''; expected {FOUR}."),
    ("41", f"Tempo: found 2 parts in '41'; expected {FOUR}."),
    ("41X10", f"Tempo: found 5 parts in '41X10'; expected {FOUR}."),
    ("301", AMBIGUOUS),
    ("X130", "Tempo: found X on the eccentric; expected X and A only third, on the concentric."),
    ("3A10", "Tempo: found A on the lengthened; expected X and A only third, on the concentric."),
    ("301X", "Tempo: found X on the shortened; expected X and A only third, on the concentric."),
    ("4-1/X-1", "Tempo: found the separators - and / in '4-1/X-1'; expected one separator throughout."),
    (
        "4-1--1",
        "Tempo: found '' on the concentric; expected whole seconds, X or A (write four parts such as 41X1 or 4-1-X-1).",
    ),
    (
        "3;10",
        "Tempo: found ';' on the lengthened; expected whole seconds (write four parts such as 41X1 or 4-1-X-1).",
    ),
    ("٣٠١٠", "Tempo: found '٣' on the eccentric; expected whole seconds (write four parts such as 41X1 or 4-1-X-1)."),
    ("61-0-1-0", "Tempo: found 61 s on the eccentric; expected 0 to 60 s for each part."),
]


@pytest.mark.parametrize(("text", "expected"), VALID)
def test_a_tempo_is_read_as_the_trade_writes_it(text, expected):
    assert parse_tempo(text) == expected


@pytest.mark.parametrize(("text", "sentence"), INVALID)
def test_a_malformed_tempo_says_what_was_found_and_what_was_expected(text, sentence):
    with pytest.raises(TempoError) as refusal:
        parse_tempo(text)
    assert str(refusal.value) == sentence


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ({"concentric_s": 2, "explosive": True}, "a letter and 2 s on the concentric"),
        ({"concentric_s": 0, "explosive": True, "assisted": True}, "X and A on one concentric"),
        ({"concentric_s": -1}, "-1 s on the concentric"),
    ],
)
def test_a_tempo_that_no_text_could_say_cannot_be_built(fields, found):
    with pytest.raises(TempoError) as refusal:
        Tempo(eccentric_s=3, lengthened_s=0, shortened_s=0, **fields)
    assert refusal.value.found == found


@pytest.mark.parametrize(("text", "written"), [("4-1-x-1", "41X1"), ("12/0/x/0", "12-0-X-0"), ("31a0", "31A0")])
def test_a_tempo_prints_compact_unless_a_part_needs_two_digits(text, written):
    assert str(parse_tempo(text)) == written


def test_the_working_time_leaves_out_the_restful_pause_and_an_assisted_concentric():
    assert parse_tempo("41X2").working_s("shortened") == 6
    assert parse_tempo("41X2").working_s("lengthened") == 7
    assert parse_tempo("41X2").working_s("none") == 8
    assert parse_tempo("41A2").working_s("shortened") == 5


def test_no_pause_at_the_restful_end_means_nobody_rests_within_the_set():
    assert parse_tempo("3010").is_continuous("shortened")
    assert parse_tempo("3010").continuous_reading("shortened") == "continuous"
    assert not parse_tempo("3011").is_continuous("shortened")
    assert parse_tempo("3011").continuous_reading("lengthened") == "continuous"
    assert parse_tempo("3011").continuous_reading("none") == "no_restful_end"


def test_a_movement_of_no_time_is_named():
    assert parse_tempo("0010").zero_movements() == ("eccentric",)
    assert parse_tempo("2000").zero_movements() == ("concentric",)
    assert parse_tempo("20X0").zero_movements() == ()
    assert parse_tempo("20A0").zero_movements() == ()


def test_performing_from_an_unknown_end_is_refused():
    with pytest.raises(ValueError, match="'shortened' or 'lengthened', not 'top'"):
        parse_tempo("3010").performing_order("top")


def said_of(text, exercise):
    return performed_words(parse_tempo(text), exercise.starts_at, exercise.phase_words)


def test_a_bench_press_is_said_from_the_top():
    # Common practice, no source: 41X1 starts at the top.
    said = said_of("41X1", BENCH_PRESS)
    assert said == "4 s bar down, 1 s on the chest, fast bar up, 1 s locked out"


def test_a_pull_up_is_said_from_the_bottom():
    # Common practice, no source: 31X2 starts at the bottom.
    said = said_of("31X2", PULL_UP)
    assert said == "fast body up, 2 s chin over the bar, 3 s body down, 1 s hanging"


def test_pauses_of_no_time_are_left_unsaid_and_movements_are_not():
    words = PhaseWords(eccentric="down", lengthened="low", concentric="up", shortened="high")
    assert performed_words(parse_tempo("00A0"), "shortened", words) == "down, no time asked, up with help"
