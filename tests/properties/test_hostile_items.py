"""Whatever stands in an item's fields, the batch is answered: each item taken or refused, never a fault of ours."""

import orjson
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.logs.logging import BATCHES, check_in, session, set_

SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(2**63), 2**63 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(st.characters(codec="utf-8"), max_size=12),
    st.sampled_from(
        ["\\N", "\\.", "\t", "{}", "2026-03-04", "2026-03-04T10:00:00Z", "9999-12-31", "0001-01-01", "\u202e"]
    ),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(["reps", "from", "site", "score", "x"]), inner)
    ),
    max_leaves=6,
)
NAMES = st.sampled_from(
    [
        "external_id", "client", "revision", "symptoms", "notes", "planned_session", "local_date", "started_at",
        "finished_at", "duration_min", "session_external_id", "session_log", "exercise", "slot", "set_number", "kind",
        "reps", "segments", "load_kg", "load_lb", "load_basis", "rpe", "tempo", "phase_s", "phase_source", "swapped",
        "pains", "sleep", "bodyweight_kg", "hrv_rmssd_ms", "unheard_of",
    ]
)  # fmt: skip


@given(changes=st.lists(st.dictionaries(NAMES, VALUES, max_size=3), min_size=3, max_size=3))
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_value_in_any_field_is_taken_or_refused_with_a_sentence(cast, changes):
    api = cast.key("logs:write")
    body = {
        "session_logs": [{**session(cast.anna), **changes[0]}],
        "set_logs": [{**set_(cast.anna), **changes[1]}],
        "check_ins": [{**check_in(cast.anna), **changes[2]}, check_in(cast.anna, "untouched")],
    }
    answer = api.post(BATCHES, orjson.dumps(body), content_type="application/json")
    if answer.status_code == 400:
        assert answer.json()["code"] == "nul_in_text"
        return
    assert answer.status_code == 200
    items = answer.json()["items"]
    assert len(items) == 4
    assert items[3]["outcome"] in {"created", "unchanged"}
    for item in items:
        faults = item.get("problem", {}).get("errors", [])
        assert (item["outcome"] == "refused") == bool(faults)
        assert all(fault["pointer"].startswith("#/") and fault["detail"].endswith((".", "?")) for fault in faults)
