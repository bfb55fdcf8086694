from datetime import timedelta
from django.utils import timezone
import orjson


def test_probe(cast):
    api = cast.key("logs:write")
    anna = str(cast.anna.id)
    body = {
        "session_logs": [
            {
                "external_id": "s1",
                "client": anna,
                "started_at": "2026-03-04T07:02:00+01:00",
                "finished_at": "2026-03-04T07:48:00+01:00",
                "session_rpe": 7,
            }
        ],
        "set_logs": [
            {
                "external_id": "s1-1",
                "client": anna,
                "session_external_id": "s1",
                "exercise": "back-squat",
                "slot": "A1",
                "set_number": 1,
                "reps": 6,
                "load_kg": 80,
                "in_reserve": 2,
                "duration_s": 44,
                "phase_source": "device",
                "phase_s": {"eccentric": 4.1, "lengthened": 0.6},
            },
            {
                "external_id": "s1-2",
                "client": anna,
                "session_external_id": "s9",
                "exercise": "back-squat",
                "set_number": 2,
                "reps": 6,
                "load_lb": 180,
                "in_reserve": 2,
            },
            {
                "external_id": "s1-3",
                "client": anna,
                "session_external_id": "s1",
                "exercise": "bak-squat",
                "set_number": 2,
                "reps": "6",
                "load_lb": 180,
                "load_kg": 3,
                "in_reserve": 2,
                "repz": 3,
            },
            {
                "external_id": "s1-4",
                "client": anna,
                "session_external_id": "s1",
                "exercise": "bak-squat",
                "set_number": 2,
                "reps": 6,
            },
            {
                "external_id": "s1-1",
                "client": anna,
                "session_external_id": "s1",
                "exercise": "back-squat",
                "slot": "A1",
                "set_number": 1,
                "reps": 7,
                "load_kg": 80,
            },
        ],
        "check_ins": [
            {
                "external_id": "c1",
                "client": anna,
                "local_date": "2026-03-04",
                "sleep": 3,
                "symptoms": ["chest_pain"],
                "pains": [{"site": "shoulder", "side": "left", "score": 7, "exercise": "bench-press"}],
                "bodyweight_kg": 81.4,
            }
        ],
    }
    r = api.post("/api/v1/log-batches", body, format="json")
    print(r.status_code, orjson.dumps(r.json(), option=orjson.OPT_INDENT_2).decode())
    r = api.post("/api/v1/log-batches", body, format="json")
    print([(i["outcome"], i.get("superseded")) for i in r.json()["items"]])
    assert 0
