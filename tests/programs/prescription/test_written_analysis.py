from programs.prescription.notation import parse_session
from programs.prescription.written_analysis import analyse_written
from tests.programs.prescription.cast import EXERCISES

TEXT = """Upper A
A1. Bench press  4 x 5 @ 41X1, RPE 8, rest 10s
A2. Pull-up      4 x 5 @ 30X0, rest 10s

B. 12 min max rounds:
  Get-up 2/side
  Curl 10
cap 20 min"""


def lines(text, **options):
    analysis = analyse_written(parse_session(text, EXERCISES.values()), EXERCISES, **options)
    return {(finding.code, finding.pointer): finding.line for finding in analysis.findings}


def test_each_finding_stands_at_the_line_of_its_slot_block_or_cap():
    found = lines(TEXT)
    assert found["short_rest", "#/blocks/0/slots/0/rest_s"] == 2
    assert found["continuous_set", "#/blocks/0/slots/1/sets/0/tempo"] == 3
    assert found["complex_when_tired", "#/blocks/1/slots/0/exercise"] == 6
    assert found["over_cap", "#/cap_min"] == 8


def test_what_is_said_of_the_whole_session_has_no_line():
    assert lines(TEXT, minutes_available=10)["over_minutes", "#"] is None


def test_places_are_given_in_the_document_that_holds_the_session():
    found = lines(TEXT, pointer="#/session")
    assert found["over_cap", "#/session/cap_min"] == 8
