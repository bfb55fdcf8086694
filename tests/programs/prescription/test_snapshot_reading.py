"""Reading a written-out session back."""

import pytest

from programs.prescription.document import DocumentError, decode_session
from programs.prescription.snapshot import session_snapshot
from programs.prescription.snapshot_reading import snapshot_session
from tests.programs.cards.card_cast import catalogue, full_session


def test_what_was_written_out_reads_back_as_the_same_session() -> None:
    blocks = full_session()
    blocks[3]["entry"] = {"exercise": "rowing-machine", "distance_m": "500"}
    written = decode_session({"title": "Lower A", "blocks": blocks})
    prescribed = session_snapshot(written, catalogue(), {}, unit="lb").prescribed
    assert snapshot_session(prescribed) == written


def test_what_later_changes_put_beside_it_is_passed_over() -> None:
    written = decode_session({"blocks": full_session()})
    prescribed = dict(session_snapshot(written, catalogue(), {}, unit="kg").prescribed)
    prescribed["blocks"][0]["slots"][0]["remark"] = "put in later"
    assert snapshot_session(prescribed | {"changed": True}) == written


def test_an_empty_document_prescribes_nothing() -> None:
    with pytest.raises(DocumentError):
        snapshot_session({})
