"""A log batch over HTTP against binary COPY of the same rows, and against what one would write first.

The baseline table has the log's columns, indexes, checks and foreign keys, but no row-level security, which
refuses COPY. A and B alternate; each run of either writes rows that nobody wrote before and commits.
"""

from collections.abc import Callable
from time import perf_counter
from typing import Any

import orjson
from django.db import connection, connections
from django.test import Client as HttpClient
from rest_framework import serializers

from coaching.tenancy.scope import business_scope
from logs.models import SessionLog, SetLog
from programs.models import Exercise
from tests.benchmarks.ratios import Ratio
from tests.benchmarks.rows import Bench, add_sessions, bench_business, set_items

RUNS = 9
# One for all requests: each new one would load the middleware anew.
_HTTP = HttpClient()
_COPIED = "bench_set_log"
_COLUMNS = ", ".join(field.column for field in SetLog._meta.concrete_fields)


def measure() -> list[Ratio]:
    """Measure batches of 5,000 and of 500."""
    bench = bench_business("Copper Hill")
    _make_copy_table()
    return [
        _against_copy(bench, sets=5_000, target=0.40),
        _against_copy(bench, sets=500, target=0.35),
        _against_serializer(bench, sets=500, target=50),
    ]


def _against_copy(bench: Bench, *, sets: int, target: float) -> Ratio:
    ours: list[float] = []
    baseline: list[float] = []
    for run in range(RUNS + 2):
        bodies = _body(bench, sets=sets, run=f"copy{sets}-{run}")
        posted = _timed(_post, bench, bodies)
        rows = _rows_of(bench, sets)
        copied = _timed(_copy, rows)
        if run >= 2:
            ours.append(posted)
            baseline.append(copied)
    return Ratio.of_rates(f"batch of {sets:,} sets over HTTP against binary COPY", sets, ours, baseline, target)


def _against_serializer(bench: Bench, *, sets: int, target: float) -> Ratio:
    ours: list[float] = []
    baseline: list[float] = []
    for run in range(3):
        body = _body(bench, sets=sets, run=f"ours{sets}-{run}")
        ours.append(_timed(_post, bench, body))
        data = _model_data(bench, sets=sets, run=f"drf{sets}-{run}")
        baseline.append(_timed(_serialize, bench, data))
    return Ratio.of_rates(
        f"batch of {sets:,} sets over HTTP against ModelSerializer(many=True)", sets, ours, baseline, target
    )


def _timed(work: Callable[..., object], *arguments: object) -> float:
    started = perf_counter()
    work(*arguments)
    return perf_counter() - started


def _body(bench: Bench, *, sets: int, run: str) -> bytes:
    sessions = add_sessions(bench, sets=sets, run=run)
    return orjson.dumps({"set_logs": set_items(bench, sessions, sets=sets)})


def _post(bench: Bench, body: bytes) -> None:
    answer = _HTTP.post(
        "/api/v1/log-batches",
        body,
        content_type="application/json",
        headers={"Authorization": f"Bearer {bench.secret}"},
    )
    if b'"unchanged":0,"corrected":0,"refused":0,"held":0' not in answer.content:
        raise RuntimeError(f"The batch was not taken: {answer.content[:400]!r}")


def _make_copy_table() -> None:
    with connections["owner"].cursor() as cursor:
        cursor.execute(f"DROP TABLE IF EXISTS {_COPIED}")
        cursor.execute(f"CREATE TABLE {_COPIED} (LIKE logs_setlog INCLUDING ALL)")
        for name, target in (
            ("client_id", "coaching_client"),
            ("session_log_id", "logs_sessionlog"),
            ("exercise_id", "programs_exercise"),
        ):
            cursor.execute(
                f"ALTER TABLE {_COPIED} ADD FOREIGN KEY (business_id, {name}) "
                f"REFERENCES {target} (business_id, id) DEFERRABLE INITIALLY DEFERRED"
            )


def _rows_of(bench: Bench, sets: int) -> bytes:
    """Read what our own last batch wrote, in the very bytes of binary COPY: nothing is left to encode."""
    rows = f"SELECT {_COLUMNS} FROM logs_setlog ORDER BY id DESC LIMIT {sets}"
    with (
        business_scope(bench.business_id),
        connection.cursor() as cursor,
        cursor.copy(f"COPY ({rows}) TO STDOUT (FORMAT BINARY)") as copy,
    ):
        return b"".join(bytes(part) for part in copy)


def _copy(rows: bytes) -> None:
    with (
        connections["owner"].cursor() as cursor,
        cursor.copy(f"COPY {_COPIED} ({_COLUMNS}) FROM STDIN (FORMAT BINARY)") as copy,
    ):
        copy.write(rows)


class _SetLogSerializer(serializers.ModelSerializer[SetLog]):
    """What one would write first: related fields look each id up."""

    class Meta:
        model = SetLog
        exclude = ("content_hash",)


def _model_data(bench: Bench, *, sets: int, run: str) -> list[dict[str, Any]]:
    sessions = add_sessions(bench, sets=sets, run=run)
    with business_scope(bench.business_id):
        session_ids = {
            name: str(one)
            for one, name in SessionLog.objects.filter(external_id__in=sessions).values_list("id", "external_id")
        }
        exercise_ids = {key: str(one) for one, key in Exercise.objects.values_list("id", "key")}
    return [
        {
            "client": item["client"],
            "source": "bench-app",
            "external_id": item["external_id"],
            "local_date": "2026-03-02",
            "received_at": "2026-03-02T12:00:00Z",
            "session_log": session_ids[item["session_external_id"]],
            "exercise": exercise_ids[item["exercise"]],
            "slot_key": item["slot"],
            "load": item["load_kg"],
            "unit": "kg",
            "load_basis": "total",
            **{name: item[name] for name in ("load_kg", "set_number", "kind", "side", "reps", "in_reserve")},
            **{name: item[name] for name in ("duration_s", "phase_s", "phase_source")},
        }
        for item in set_items(bench, sessions, sets=sets)
    ]


def _serialize(bench: Bench, data: list[dict[str, Any]]) -> None:
    with business_scope(bench.business_id):
        serializer = _SetLogSerializer(data=data, many=True)
        serializer.is_valid(raise_exception=True)
        serializer.save(content_hash=b"")
