"""Past logs from files: faults at their cells, a mapping put right, a dry run, a commit, and the same file again."""

import csv
import io
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import openpyxl
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.flags import flags_of_the_day
from logs.actions.log_imports import expire_log_imports
from logs.actions.weekly_progress import refresh_weeks
from logs.models import ClientWeek, Flag, LogBatch, LogImport, MissedAlert, SessionLog, SetLog
from tests.scenario import NOON, Cast

IMPORTS = "/api/v1/log-imports"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
HEADER = ("Date", "Exercise", "Set", "Weight (kg)", "Reps", "RPE")


def upload(api: Any, content: bytes, *, kind: str = "text/csv", query: str = "") -> dict[str, Any]:
    answer = api.post(f"{IMPORTS}{query}", content, content_type=kind)
    assert answer.status_code == 201, answer.content
    made: dict[str, Any] = answer.json()
    return made


def change(api: Any, made: dict[str, Any], **changes: Any) -> dict[str, Any]:
    answer = api.patch(f"{IMPORTS}/{made['id']}", changes, format="json", HTTP_IF_MATCH="*")
    assert answer.status_code == 200, answer.content
    changed: dict[str, Any] = answer.json()
    return changed


def run(api: Any, made: dict[str, Any], verb: str, **body: Any) -> dict[str, Any]:
    answer = api.post(f"{IMPORTS}/{made['id']}/{verb}", body, format="json")
    assert answer.status_code == 200, answer.content
    done: dict[str, Any] = answer.json()
    return done


def as_csv(*rows: tuple[Any, ...], header: tuple[str, ...] = HEADER, **dialect: Any) -> bytes:
    text = io.StringIO()
    csv.writer(text, **dialect).writerows([header, *rows])
    return text.getvalue().encode()


def as_xlsx(*rows: tuple[Any, ...], header: tuple[str, ...] = HEADER) -> bytes:
    book = openpyxl.Workbook()
    for row in (header, *rows):
        book.active.append(row)
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


def sets_of(cast: Cast) -> list[tuple[Any, ...]]:
    with business_scope(cast.business_id):
        return list(
            SetLog.objects.order_by("client__name", "local_date", "exercise__key", "set_number").values_list(
                "client__name", "local_date", "exercise__key", "set_number", "reps", "load_kg", "rpe"
            )
        )


def test_a_file_with_two_faults_is_put_right_run_dry_committed_and_known_again(cast: Cast) -> None:
    api = cast.api(cast.coach)
    content = as_csv(
        ("2026-03-02", "Back squat", 1, 80, 5, 7),
        ("2026-03-02", "Back squat", 2, 82.5, "five", 8),
        ("2026-03-04", "The big press", 1, 50, 8, 7.5),
    )
    query = f"?client={cast.anna.id}&source=old-sheet"
    made = upload(api, content, query=query)
    assert made["mapping"]["columns"] == {
        "A": "date", "B": "exercise", "C": "set_number", "D": "load", "E": "reps", "F": "rpe",
    }  # fmt: skip
    assert made["mapping"]["units"] == {"load": "kg"}
    assert made["questions"] == []

    dry = run(api, made, "dry-run")["result"]
    assert [(one["row"], one["column"], one["cell"], one["code"]) for one in dry["faults"]] == [
        (3, "Reps", "E3", "not_a_number"),
        (4, "Exercise", "B4", "unknown_exercise"),
    ]
    assert all("exercise_map" in one["detail"] or "number" in one["detail"] for one in dry["faults"])
    refused = api.post(f"{IMPORTS}/{made['id']}/commit", {}, format="json")
    assert (refused.status_code, refused.json()["code"]) == (409, "faulty_rows")
    assert sets_of(cast) == []

    made = upload(api, content.replace(b"five", b"5"), query=query)
    made = change(api, made, exercise_map={"the big press": "bench-press"})
    unchecked = api.post(f"{IMPORTS}/{made['id']}/commit", {}, format="json")
    assert (unchecked.status_code, unchecked.json()["code"]) == (409, "not_checked")
    dry = run(api, made, "dry-run")
    assert dry["state"] == "checked"
    assert dry["result"]["fault_count"] == 0
    assert dry["result"]["session_logs"]["created"] == 2
    assert dry["result"]["set_logs"]["created"] == 3
    assert sets_of(cast) == []

    done = run(api, made, "commit")
    assert done["state"] == "committed"
    assert done["result"]["set_logs"]["created"] == 3
    stored = sets_of(cast)
    assert stored[0] == ("Anna", date(2026, 3, 2), "back-squat", 1, 5, 80, 7)
    with business_scope(cast.business_id):
        assert {row.source for row in SetLog.objects.all()} == {"import:old-sheet"}
        assert [str(one) for one in LogBatch.objects.values_list("id", flat=True)] == done["result"]["log_batches"]

    again = run(api, made, "commit")["result"]
    assert again["set_logs"] == {"created": 0, "unchanged": 3, "corrected": 0, "superseded": 0}
    # A later file that overlaps the first, written another way.
    more = as_xlsx(
        (date(2026, 3, 2), "back squats", 1, 80, 5, 7),
        (date(2026, 3, 2), "Back Squat", 2, 85, 5, 8),
        (date(2026, 3, 9), "Back Squat", 1, 87.5, 5, 8),
    )
    made = upload(api, more, kind=XLSX, query=query)
    run(api, made, "dry-run")
    counts = run(api, made, "commit")["result"]
    assert counts["session_logs"] == {"created": 1, "unchanged": 1, "corrected": 0, "superseded": 0}
    assert counts["set_logs"] == {"created": 1, "unchanged": 1, "corrected": 1, "superseded": 0}

    refresh_weeks(cast.business_id, NOON)
    with business_scope(cast.business_id):
        weeks = ClientWeek.objects.filter(client=cast.anna).order_by("week_start")
        assert list(weeks.values_list("week_start", "work_sets")) == [(date(2026, 3, 2), 3), (date(2026, 3, 9), 1)]
    with business_scope(cast.business_id):
        assert not Flag.objects.exists()
        assert not MissedAlert.objects.exists()


def test_the_same_logs_come_out_of_every_dialect(cast: Cast) -> None:
    """What csv and openpyxl write, in the ways that people's programs do, is read as the same sets."""
    api = cast.api(cast.coach)
    days = [date(2026, 3, 2) + timedelta(days=14 * number) for number in range(3)]
    kilos = [80, 82.5, 101.25]
    bare = (*HEADER[:3], "Weight", *HEADER[4:])

    def rows(day: Callable[[date], Any], load: Callable[[float], Any], rpe: Any = 7.5) -> list[tuple[Any, ...]]:
        return [(day(one), "Back squat", 1, load(kg), 5, rpe) for one, kg in zip(days, kilos, strict=True)]

    iso, month_first = rows(str, str), rows("{:%m/%d/%y}".format, "{} kg".format)
    commas = rows("{:%d.%m.%Y}".format, lambda kg: str(kg).replace(".", ","), "7,5")
    named = as_csv(*rows("{:%d %b %Y}".format, str), header=bare, delimiter="\t").decode()
    plain = "text/csv"
    files: dict[str, tuple[bytes, str, dict[str, Any]]] = {
        "iso": (as_csv(*iso), plain, {}),
        "semicolons": (as_csv(*commas, delimiter=";"), plain, {}),
        "month first": (as_csv(*month_first, header=bare), plain, {}),
        "utf-16": (named.encode("utf-16"), plain, {"units": {"load": "kg"}}),
        "xlsx": (as_xlsx(*rows(lambda day: day, lambda kg: kg)), XLSX, {}),
    }
    for number, (name, (content, kind, changes)) in enumerate(files.items()):
        made = upload(api, content, kind=kind, query=f"?client={cast.anna.id}&source=same")
        if changes:
            assert [one["code"] for one in made["questions"]] == ["unknown_unit"], name
            made = change(api, made, **changes)
        checked = run(api, made, "dry-run")
        assert (checked["questions"], checked["result"]["faults"]) == ([], []), name
        counts = run(api, made, "commit")["result"]["set_logs"]
        assert counts["unchanged" if number else "created"] == 3, (name, counts)
    assert [row[5] for row in sets_of(cast)] == kilos


def test_pounds_stay_pounds_and_a_column_may_say_the_unit_row_by_row(cast: Cast) -> None:
    api = cast.api(cast.coach)
    header = ("Date", "Exercise", "Weight", "Unit", "Reps")
    rows = (("2026-03-02", "Back squat", 225, "lbs", 5), ("2026-03-02", "Back squat", 100, "kg", 5))
    made = upload(api, as_csv(*rows, header=header), query=f"?client={cast.anna.id}")
    run(api, made, "dry-run")
    run(api, made, "commit")
    with business_scope(cast.business_id):
        stored = list(SetLog.objects.order_by("set_number").values_list("load", "unit"))
    assert stored == [(225, "lb"), (100, "kg")]


def test_a_date_that_may_be_read_two_ways_is_asked_not_guessed(cast: Cast) -> None:
    api = cast.api(cast.coach)
    made = upload(api, as_csv(("03/04/2026", "Back squat", 1, 80, 5, 7)), query=f"?client={cast.anna.id}")
    assert [(one["code"], one["choices"]) for one in made["questions"]] == [("ambiguous_date", ["dmy", "mdy"])]
    assert run(api, made, "dry-run")["result"]["session_logs"]["created"] == 0
    open_yet = api.post(f"{IMPORTS}/{made['id']}/commit", {"skip_faulty_rows": True}, format="json")
    assert (open_yet.status_code, open_yet.json()["code"]) == (409, "questions_open")
    change(api, made, date_order="mdy")
    run(api, made, "dry-run")
    run(api, made, "commit")
    assert [row[1] for row in sets_of(cast)] == [date(2026, 3, 4)]


def test_a_coachs_file_names_their_own_clients_and_nobody_elses(cast: Cast) -> None:
    api = cast.api(cast.coach)
    header = ("Client", "Date", "Exercise", "Weight (kg)", "Reps")
    rows = [(who, "2026-03-02", "Back squat", 80, 5) for who in ("Anna", "BEN", "Carl", "anna@northern-iron.example")]
    made = upload(api, as_csv(*rows, header=header))
    assert {one["written"]: bool(one["client"]) for one in made["clients"]} == {
        "Anna": True, "BEN": True, "Carl": False, "anna@northern-iron.example": True,
    }  # fmt: skip
    mapped = api.patch(
        f"{IMPORTS}/{made['id']}", {"client_map": {"Carl": str(cast.carl.id)}}, format="json", HTTP_IF_MATCH="*"
    )
    assert (mapped.status_code, mapped.json()["code"]) == (400, "unknown_object")
    dry = run(api, made, "dry-run")["result"]
    assert [(one["cell"], one["code"]) for one in dry["faults"]] == [("A4", "unknown_client")]
    skipped = run(api, made, "commit", skip_faulty_rows=True)["result"]
    assert (skipped["faulty_rows"], skipped["set_logs"]["created"]) == ([4], 3)
    assert [row[0] for row in sets_of(cast)] == ["Anna", "Anna", "Ben"]


def test_what_only_the_intake_can_see_is_told_at_its_cell_and_its_rows_left_out(cast: Cast) -> None:
    content = as_csv(
        ("2031-03-04", "Back squat", 1, 80, 5, 7),
        ("2199-01-01", "Back squat", 1, 80, 5, 7),
        ("2031-03-03", "Back squat", 1, -80, 5, 7),
        ("2031-03-03", "Back squat", 2, 80, 5000, 7),
        ("2031-03-03", "Back squat", 3, 80, 5, 11),
        ("2031-03-03", "Back squat", 4, 80, 5, 7),
        ("2031-03-03", "Back squat", 4, 80, 6, 7),
    )
    with time_machine.travel(NOON, tick=False):
        api = cast.api(cast.coach)
        made = upload(api, content, query=f"?client={cast.anna.id}")
        dry = run(api, made, "dry-run")["result"]
        assert [(one["cell"], one["code"]) for one in dry["faults"]] == [
            ("A3", "in_future"),
            ("D4", "negative_load"),
            ("E5", "out_of_range"),
            ("F6", "out_of_range"),
            ("C8", "duplicate_set_number"),
        ]
        assert dry["set_logs"]["created"] == 2
        done = run(api, made, "commit", skip_faulty_rows=True)["result"]
    assert done["faulty_rows"] == [3, 4, 5, 6, 8]
    assert len(sets_of(cast)) == 2
    with business_scope(cast.business_id):
        assert SessionLog.objects.count() == 2


def test_a_forgotten_file_leaves_nothing_of_its_content(cast: Cast) -> None:
    api = cast.api(cast.coach)
    query = f"?client={cast.anna.id}"
    one, other = (upload(api, as_csv(("2026-03-02", "Canary squat", 1, 80, 5, 7)), query=query) for _ in range(2))
    run(api, one, "dry-run")
    assert api.delete(f"{IMPORTS}/{one['id']}").status_code == 428
    assert api.delete(f"{IMPORTS}/{one['id']}", HTTP_IF_MATCH="*").status_code == 204
    expire_log_imports(cast.business_id, datetime.fromisoformat(other["expires_at"]))
    with business_scope(cast.business_id):
        assert set(LogImport.objects.values_list("state", flat=True)) == {"forgotten"}
        for row in LogImport.objects.all():
            kept = (bytes(row.content), row.columns, row.mapping, row.findings, row.result)
            assert "anary" not in repr(kept)
            assert bytes(row.content) == b""
    gone = api.post(f"{IMPORTS}/{one['id']}/dry-run", {}, format="json")
    assert (gone.status_code, gone.json()["code"]) == (409, "file_forgotten")


def test_imports_are_for_those_who_coach_and_each_sees_their_own(cast: Cast) -> None:
    made = upload(cast.api(cast.coach), as_csv(("2026-03-02", "Back squat", 1, 80, 5, 7)))
    path = f"{IMPORTS}/{made['id']}"
    assert cast.api(cast.other_coach).get(path).status_code == 404
    assert cast.api(cast.other_coach).get(IMPORTS).json()["items"] == []
    assert [one["id"] for one in cast.api(cast.head).get(IMPORTS).json()["items"]] == [made["id"]]
    for api in (cast.api(cast.viewer), cast.api(cast.client_member), cast.key("logs:write")):
        assert api.get(path).status_code == 403
        assert api.post(IMPORTS, b"Date", content_type="text/csv").status_code == 403


def test_a_handwritten_sheet_with_blank_cells_and_counted_sets_is_read(cast: Cast) -> None:
    api = cast.api(cast.coach)
    header = ("Date", "Exercise", "Sets", "Reps", "Weight (kg)", "Body weight (kg)")
    rows = (
        (date(2026, 3, 2), "Back squat", 3, 5, 80, 70.5),
        (None, "Pull-up", 2, 6, "BW+10", None),
        (date(2026, 3, 5), None, None, None, None, 70),
    )
    made = upload(api, as_xlsx(*rows, header=header), kind=XLSX, query=f"?client={cast.anna.id}")
    assert made["mapping"]["fill_down"] == ["date", "exercise"]
    dry = run(api, made, "dry-run")["result"]
    assert dry["faults"] == []
    assert (dry["session_logs"]["created"], dry["set_logs"]["created"], dry["check_ins"]["created"]) == (1, 5, 2)
    run(api, made, "commit")
    assert [(row[2], row[3], row[5]) for row in sets_of(cast)] == [
        ("back-squat", 1, 80), ("back-squat", 2, 80), ("back-squat", 3, 80), ("pull-up", 1, 10), ("pull-up", 2, 10),
    ]  # fmt: skip


def test_two_sessions_of_one_day_are_told_apart_by_their_start(cast: Cast) -> None:
    api = cast.api(cast.coach)
    starts = ("2026-03-02 07:30:00", "2026-03-02 18:00:00")
    rows = [(start, "Back squat", number, 80, 5, 7) for start in starts for number in (1, 2, 3)]
    made = upload(api, as_csv(*rows), query=f"?client={cast.ben.id}")
    assert made["mapping"]["sessions_by"] == "start_time"
    run(api, made, "dry-run")
    run(api, made, "commit")
    with business_scope(cast.business_id):
        found = SessionLog.objects.order_by("started_at").values_list("started_at", flat=True)
        # Half past seven in Chicago, in winter.
        assert [one.isoformat() for one in found] == ["2026-03-02T13:30:00+00:00", "2026-03-03T00:00:00+00:00"]


def test_logs_of_long_ago_raise_no_flag_and_no_alert_today(cast: Cast) -> None:
    api = cast.api(cast.coach)
    days = [date(2026, 1, 5) + timedelta(days=number) for number in range(0, 90, 2)]
    # A jump of load, efforts that creep up, and then silence: all of it years before now.
    rows = [
        (day, "Back squat", number, 80 + 5 * (day.month == 3) * number, 5, 6 + day.month)
        for day in days
        for number in range(1, 6)
    ]
    made = upload(api, as_csv(*rows), query=f"?client={cast.anna.id}")
    run(api, made, "dry-run")
    assert run(api, made, "commit")["result"]["set_logs"]["created"] == len(rows)
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(created_at=NOON - timedelta(days=30))
    while refresh_weeks(cast.business_id, NOON):
        pass
    flags_of_the_day(cast.business_id, NOON)
    detect_missed(cast.business_id, NOON)
    with business_scope(cast.business_id):
        assert list(Flag.objects.filter(client=cast.anna).values_list("kind", flat=True)) == []
        assert not MissedAlert.objects.exists()


def test_a_file_comes_as_the_body_or_in_a_form_and_a_retry_under_a_key_makes_one_import(cast: Cast) -> None:
    api = cast.api(cast.coach)
    content = as_csv(("2026-03-02", "Back squat", 1, 80, 5, 7))
    form = {"file": SimpleUploadedFile("log.csv", content, "text/csv")}
    posted = api.post(f"{IMPORTS}?client={cast.anna.id}", form, format="multipart")
    assert posted.status_code == 201, posted.content
    assert posted.headers["Location"] == f"{IMPORTS}/{posted.json()['id']}"
    twice = [
        api.post(IMPORTS, content, content_type="text/csv", HTTP_IDEMPOTENCY_KEY="once").json()["id"] for _ in range(2)
    ]
    assert twice[0] == twice[1]
    assert len(api.get(IMPORTS).json()["items"]) == 2


def test_what_is_no_upload_is_refused_with_what_to_send(cast: Cast) -> None:
    api = cast.api(cast.coach)
    other = api.post(IMPORTS, b"{}", content_type="application/json")
    assert (other.status_code, "text/csv" in other.json()["detail"]) == (415, True)
    file = SimpleUploadedFile("log.csv", as_csv(), "text/csv")
    for form in ({"file": file, "client": "x"}, {"file": "text"}, {"table": file}, {}):
        answer = api.post(IMPORTS, form, format="multipart")
        assert answer.status_code == 400, (form, answer.content)
    large = api.post(IMPORTS, b"x" * (8 * 1024 * 1024 + 1), content_type="text/csv")
    assert large.status_code == 413
    old = api.post(IMPORTS, b"\xd0\xcf\x11\xe0 more", content_type=XLSX)
    assert (old.status_code, old.json()["errors"][0]["code"]) == (400, "old_spreadsheet")
    for query, pointer in (("?source=a/b", "?source"), (f"?client={cast.carl.id}", "?client"), ("?sheet=x", "?sheet")):
        answer = api.post(f"{IMPORTS}{query}", as_csv(("2026-03-02", "x", 1, 1, 1, 1)), content_type="text/csv")
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)


def test_a_mapping_that_can_t_be_meant_is_refused_at_its_place(cast: Cast) -> None:
    api = cast.api(cast.coach)
    made = upload(api, as_csv(("2026-03-02", "Back squat", 1, 80, 5, 7)), query=f"?client={cast.anna.id}")
    sent = {
        "columns": {"A": "reps", "Z": "date", "B": "colour"},
        "units": {"load": "stone", "reps": "kg"},
        "exercise_map": {"x": "no-such-lift"},
    }
    path = f"{IMPORTS}/{made['id']}"
    assert api.patch(path, sent, format="json").status_code == 428
    first = api.patch(path, sent, format="json", HTTP_IF_MATCH='"v1"').json()
    assert [one["pointer"] for one in first["errors"]] == ["#/exercise_map/x"]
    del sent["exercise_map"]
    faults = api.patch(path, sent, format="json", HTTP_IF_MATCH='"v1"').json()["errors"]
    assert {(one["pointer"], one["code"]) for one in faults} == {
        ("#/columns/E", "mapped_twice"),
        ("#/columns/Z", "unknown_column"),
        ("#/columns/B", "unknown_field"),
        ("#/units/load", "unknown_unit"),
        ("#/units/reps", "unknown_unit"),
    }
    unmapped = change(api, made, columns={"A": None, "E": None})
    assert [(one["field"], one["code"]) for one in unmapped["questions"]] == [
        ("date", "missing_column"),
        ("reps", "missing_column"),
    ]
    assert api.patch(path, {}, format="json", HTTP_IF_MATCH='"v1"').status_code == 412


def test_mapping_a_name_otherwise_after_a_commit_corrects_its_sets_and_deleted_ones_stay_deleted(cast: Cast) -> None:
    api = cast.api(cast.coach)
    content = as_csv(("2026-03-02", "The big press", 1, 50, 8, 7), ("2026-03-02", "The big press", 2, 50, 8, 7))
    made = upload(api, content, query=f"?client={cast.anna.id}")
    counts: dict[str, int] = {}
    for exercise in ("bench-press", "overhead-press"):
        change(api, made, exercise_map={"The big press": exercise})
        run(api, made, "dry-run")
        counts = run(api, made, "commit")["result"]["set_logs"]
    assert (counts["created"], counts["corrected"]) == (0, 2)
    assert {row[2] for row in sets_of(cast)} == {"overhead-press"}
    with business_scope(cast.business_id):
        log_id = SetLog.objects.get(set_number=2).id
    assert api.delete(f"/api/v1/set-logs/{log_id}", HTTP_IF_MATCH="*").status_code == 204
    dry = run(api, made, "dry-run")["result"]
    assert [(one["row"], one["code"]) for one in dry["faults"]] == [(3, "deleted")]
