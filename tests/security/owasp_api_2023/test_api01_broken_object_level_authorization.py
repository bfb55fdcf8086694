"""API1:2023. An object is reached only by those who may see it; a foreign one and a missing one are answered alike.

Every operation with every id of its path, body and filters, as each sort of caller, is in
`tests/architecture/test_endpoint_matrix.py`, with and without row-level security. Here stands what a list of
operations can't show: an own parent with a foreign child, cursors, retry keys and items inside a batch.
"""

import re
from typing import Any, Final

from coaching.tenancy.scope import business_scope
from logs.models import SetLog
from tests.architecture.calls import Call
from tests.scenario import Cast
from tests.security.operations import CALLED, attack

_WITHIN_A_CLIENT: Final = [
    call for call in CALLED.values() if re.search(r"<uuid:client_id>/.*<uuid:", call.path) and call.method != "POST"
]


def test_an_own_client_in_the_path_opens_no_object_of_another_client(cast: Cast, world: dict[str, str]) -> None:
    """Ben is the same coach's, so only the pair is false."""
    assert len(_WITHIN_A_CLIENT) >= 4
    api, found = cast.api(cast.coach), {}
    for call in _WITHIN_A_CLIENT:
        assert attack(api, call, world).status_code < 400, call.operation
        answer = attack(api, call, {**world, "client_id": str(cast.ben.id)})
        if answer.status_code != 404:
            found[call.operation] = answer.status_code
    assert found == {}


def test_no_list_takes_a_cursor_made_by_another_business(cast: Cast, neighbour: Cast, world: dict[str, str]) -> None:
    ours, theirs, lists = cast.api(cast.owner), neighbour.api(neighbour.owner), 0
    for call in _lists():
        following = attack(ours, call, world, query="limit=1").json()["next"]
        if following is None:
            continue
        lists += 1
        stolen = theirs.get(following)
        assert stolen.status_code == 400, call.operation
        garbage = theirs.get(re.sub(r"cursor=[^&]*", "cursor=garbage", following))
        assert _without_request_id(stolen) == _without_request_id(garbage), call.operation
    assert lists >= 5


def _lists() -> list[Call]:
    from tests.coaching.test_policy import VIEWS

    paged = {view.operations["GET"] for _path, view in VIEWS if "GET" in getattr(view, "lists", ())}
    return [call for operation, call in CALLED.items() if operation in paged and "<" not in call.path]


def _without_request_id(answer: Any) -> Any:
    return {name: value for name, value in answer.json().items() if name != "request_id"}


def test_a_retry_key_of_one_credential_replays_nothing_to_another(cast: Cast, neighbour: Cast) -> None:
    body = {"name": "Nadia Canary", "email": "nadia@northern-iron.example"}
    made = cast.api(cast.owner).post("/api/v1/clients", body, format="json", HTTP_IDEMPOTENCY_KEY="k-1")
    assert made.status_code == 201
    for other in (neighbour.api(neighbour.owner), cast.api(cast.head)):
        answer = other.post("/api/v1/clients", body, format="json", HTTP_IDEMPOTENCY_KEY="k-1")
        assert answer.headers.get("Idempotency-Replayed") is None
        assert made.json()["id"] not in answer.content.decode()


def test_a_batch_is_no_way_round_what_a_key_is_narrowed_to(cast: Cast, world: dict[str, str]) -> None:
    narrowed = cast.key("logs:write", clients=[cast.ben.id])
    sets = [
        {
            "external_id": f"x-{name}",
            "client": str(client.id),
            "exercise": "back-squat",
            "set_number": 1,
            "reps": 5,
            "session_external_id": "x",
        }
        for name, client in {"ben": cast.ben, "anna": cast.anna, "carl": cast.carl}.items()
    ]
    answer = narrowed.post("/api/v1/log-batches", {"set_logs": sets}, format="json")
    refused = [item["external_id"] for item in answer.json()["items"] if item["outcome"] == "refused"]
    assert refused == ["x-anna", "x-carl"]
    with business_scope(cast.business_id):
        assert not SetLog.objects.filter(external_id__in=refused).exists()
