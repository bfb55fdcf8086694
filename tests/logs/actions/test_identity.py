"""What an arriving item is to a log that is known: every case of the table, without a database."""

import pytest

from logs.actions.identity import LogState
from logs.actions.log_fields import Item


def item(revision, digest, *, insists=False):
    made = Item("set_log", 0, {"external_id": "x", "revision": revision})
    made.digest, made.insists = digest, insists
    return made


@pytest.mark.parametrize(
    ("revision", "digest", "insists", "expected"),
    [
        (2, "b", False, "unchanged"),
        (2, "c", False, "corrected"),
        (2, "a", False, "superseded"),
        (2, "a", True, "corrected"),
        (2, "b", True, "unchanged"),
        (1, "b", False, "superseded"),
        (1, "c", False, "superseded"),
        (3, "b", False, "corrected"),
        (3, "a", False, "corrected"),
    ],
)
def test_revision_then_content_then_history_decide(revision, digest, insists, expected):
    state = LogState("id", revision=2, row_version=5, digest="b", earlier={(2, "a")})
    assert state.decide(revision, digest, insists=insists) == expected


@pytest.mark.parametrize(("revision", "digest"), [(2, "b"), (3, "c"), (0, "a")])
def test_nothing_brings_a_deleted_log_back(revision, digest):
    state = LogState("id", revision=2, row_version=5, digest="", deleted=True)
    met = item(revision, digest)
    state.meet(met)
    assert (met.result, met.faults[0].code, state.final) == ("refused", "deleted", None)


def test_each_correction_is_told_by_the_state_that_the_one_before_left():
    state = LogState("id", revision=0, row_version=1, digest="a")
    items = [item(0, "b"), item(0, "a"), item(0, "b"), item(1, "a"), item(0, "c")]
    for one in items:
        state.meet(one)
    assert [(one.result, one.superseded) for one in items] == [
        ("corrected", False),
        ("unchanged", True),
        ("unchanged", False),
        ("corrected", False),
        ("unchanged", True),
    ]
    assert (state.final, state.row_version) == (items[3], 3)
    assert state.replaced == [(None, 1), (items[0], 2)]
