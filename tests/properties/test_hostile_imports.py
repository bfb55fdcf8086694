"""Whatever bytes are uploaded as a table, and whatever stands in its cells, the answer is one of ours: never a 500."""

import io
import zipfile
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.scenario import Cast

IMPORTS = "/api/v1/log-imports"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
HEADER = "Date,Start time,Exercise,Set,Sets,Weight,Reps,RPE,Tempo,Duration,Distance,Notes,Session RPE,Body weight,ID"
CELLS = st.one_of(
    st.sampled_from(
        ["", "2026-03-02", "03/04/26", "Back squat", "18:30", "80", "82,5", "BW+10", "1:30", "41X1", "9" * 15, "-1",
         "1e999", "99:99", "31 Feb 2026", "0", "7", "200", "\u202e", "=1+1", "1 stone", "0001-01-01", "9999-12-31"]
    ),
    st.text(st.characters(codec="utf-8", exclude_characters=',"\r\n'), max_size=8),
)  # fmt: skip
QUIET = {"deadline": None, "suppress_health_check": [HealthCheck.function_scoped_fixture]}


def walked(api: Any, content: bytes, kind: str) -> int:
    """Upload, answer what is asked, run dry and commit what can be; return the status of the upload."""
    answer = api.post(f"{IMPORTS}?client={walked.client}", content, content_type=kind)  # type: ignore[attr-defined]
    assert answer.status_code in {201, 400}, answer.content
    if answer.status_code == 201:
        path = f"{IMPORTS}/{answer.json()['id']}"
        units = {"load": "kg", "distance": "m", "duration": "s", "bodyweight": "lb"}
        changed = api.patch(path, {"date_order": "dmy", "units": units}, format="json", HTTP_IF_MATCH="*")
        assert changed.status_code == 200, changed.content
        dry = api.post(f"{path}/dry-run", {}, format="json")
        assert dry.status_code == 200, dry.content
        done = api.post(f"{path}/commit", {"skip_faulty_rows": True}, format="json")
        assert done.status_code in {200, 409}, done.content
        if done.status_code == 200:
            again = api.post(f"{path}/commit", {"skip_faulty_rows": True}, format="json").json()["result"]
            assert all(again[kind]["created"] == 0 for kind in ("session_logs", "set_logs", "check_ins"))
    return int(answer.status_code)


@pytest.fixture
def api(cast: Cast) -> Any:
    walked.client = cast.anna.id  # type: ignore[attr-defined]
    return cast.api(cast.coach)


@given(
    content=st.binary(max_size=400),
    kind=st.sampled_from(["text/csv", XLSX]),
    prefix=st.sampled_from([b"", b"PK\x03\x04", b"Date,Reps\n"]),
)
@settings(max_examples=60, **QUIET)
def test_any_bytes_are_a_table_or_refused(api: Any, content: bytes, kind: str, prefix: bytes) -> None:
    walked(api, prefix + content, kind)


@given(rows=st.lists(st.lists(CELLS, min_size=15, max_size=15), min_size=1, max_size=4))
@settings(max_examples=60, **QUIET)
def test_any_cells_are_logs_or_faults(api: Any, rows: list[list[str]]) -> None:
    content = "\n".join([HEADER, *(",".join(row) for row in rows)])
    walked(api, content.encode(), "text/csv")


@given(part=st.integers(0, 8), at=st.floats(0, 0.99), piece=st.binary(min_size=1, max_size=12))
@settings(max_examples=40, **QUIET)
def test_a_damaged_spreadsheet_is_a_table_or_refused(api: Any, part: int, at: float, piece: bytes) -> None:
    book, kept, damaged = openpyxl.Workbook(), io.BytesIO(), io.BytesIO()
    for row in (["Date", "Exercise", "Weight (kg)", "Reps"], ["2026-03-02", "Back squat", 80, 5]):
        book.active.append(row)
    book.save(kept)
    with zipfile.ZipFile(kept) as source, zipfile.ZipFile(damaged, "w") as target:
        names = source.namelist()
        for name in names:
            data = source.read(name)
            cut = int(at * len(data))
            target.writestr(name, data[:cut] + piece + data[cut + 3 :] if name == names[part % len(names)] else data)
    walked(api, damaged.getvalue(), XLSX)
