"""What holds of every finding, whatever is analysed."""

from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.analysis import AnalysisPolicy, analyse_session
from programs.prescription.document import encode_session
from programs.prescription.notation import parse_session, print_session
from programs.prescription.structure import Day, VersionContent, Week
from programs.prescription.version_analysis import analyse_version
from programs.prescription.written_analysis import analyse_written
from tests.programs.prescription.cast import EXERCISES
from tests.properties.test_timeline import sessions

UNPERFORMABLE = {"unknown_exercise", "reps_for_hold", "nothing_prescribed"}
"""Codes that may be errors; every other finding is a coach's own judgement."""


def check(findings, document):
    for finding in findings:
        assert finding.severity in ("note", "warning") or finding.code in UNPERFORMABLE
        assert all((finding.code, finding.message, finding.rule, finding.source, finding.suggestion)), finding
        assert (finding.figure is not None) == bool(finding.unit), finding
        # A name that nobody knows has nothing to measure.
        assert finding.figure is not None or finding.code == "unknown_exercise", finding
        assert points_into(document, finding.pointer), finding


def points_into(document, pointer):
    """Say whether all but the last part of a pointer is there: what is missing may be what is told."""
    place = document
    parts = pointer.split("/")[1:]
    for part in parts[:-1]:
        place = place[int(part)] if isinstance(place, list) else place[part]
    return not parts or isinstance(place, dict) or int(parts[-1]) < len(place)


@given(session=sessions(), minutes=st.sampled_from([None, 5, 60]), novice=st.booleans())
@settings(max_examples=60, deadline=None)
def test_each_has_its_severity_place_figure_rule_source_and_suggestion(session, minutes, novice):
    analysis = analyse_session(session, EXERCISES, minutes_available=minutes, policy=AnalysisPolicy(novice=novice))
    check(analysis.findings, encode_session(session))


@given(listed=st.lists(sessions(), min_size=1, max_size=3), deload=st.booleans())
@settings(max_examples=30, deadline=None)
def test_those_of_a_version_point_into_it(listed, deload):
    weeks = tuple(
        Week(week_number=number, deload=deload and number == 2, days=(Day(day_number=1, session=session),))
        for number, session in enumerate(listed, start=1)
    )
    document = {"weeks": [{"days": [encode_session(day.session) for day in week.days]} for week in weeks]}
    check(analyse_version(VersionContent(weeks=weeks), EXERCISES).findings, document)


@given(session=sessions())
@settings(max_examples=40, deadline=None)
def test_those_of_a_written_session_stand_at_a_line_that_was_written(session):
    text = print_session(session)
    read = parse_session(text)
    assert not read.has_errors
    found = analyse_written(read, EXERCISES).findings
    plain = analyse_session(session, EXERCISES).findings
    assert [(finding.code, finding.pointer) for finding in found] == [
        (finding.code, finding.pointer) for finding in plain
    ]
    written = text.splitlines()
    for finding in found:
        if finding.pointer.startswith("#/blocks/"):
            assert finding.line is not None
            assert written[finding.line - 1].strip()
        else:
            assert finding.line is None
