"""API10:2023. What apps send is hostile until proved otherwise: ranges, dates and characters are checked on the way in,
and what is kept is shown as text on every way out.

Also behind it: `tests/properties/test_hostile_items.py` and `test_hostile_imports.py` (any value in any field, any
bytes), `tests/programs/cards/test_card_page.py`, `test_card_sheet.py` and `test_timeline_drawing.py` (HTML, typst,
SVG), `tests/coaching/delivery/test_email.py` (headers).
"""

from datetime import UTC, date, datetime
from html.parser import HTMLParser
from typing import Any, Final
from uuid import uuid4

import pytest

from coaching.tenancy.scope import business_scope
from logs.documents.missed_digest import missed_digest
from logs.models import CheckIn, SetLog
from logs.selectors.digests import DigestFacts, MissedFact
from tests.scenario import Cast
from tests.security.answers import fault_of
from tests.security.operations import CALLED, attack

BATCHES: Final = "/api/v1/log-batches"
MARKUP: Final = '<script>alert(1)</script><img src=x onerror=alert(2)>"\'{{7*7}}${7*7}#read("x")'


def _set(cast: Cast, **fields: Any) -> dict[str, Any]:
    return {
        "external_id": "x1",
        "client": str(cast.anna.id),
        "session_external_id": "s1",
        "exercise": "back-squat",
        "set_number": 1,
        "reps": 5,
        "load_kg": 80,
        **fields,
    }


def _check_in(cast: Cast, **fields: Any) -> dict[str, Any]:
    return {"external_id": "x1", "client": str(cast.anna.id), "local_date": "2031-03-04", "sleep": 3, **fields}


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "0x1F", "01", "+1", "1.", ".5", "1_000"])
def test_a_number_that_json_does_not_have_is_no_body(number: str, cast: Cast, world: dict[str, str]) -> None:
    body = f'{{"set_logs": [{{"external_id": "x", "client": "{cast.anna.id}", "load_kg": {number}}}]}}'
    answer = cast.key("logs:write").post(BATCHES, body, content_type="application/json")
    assert fault_of(answer) is None
    assert answer.status_code == 400 or answer.json()["items"][0]["outcome"] == "refused"


@pytest.mark.parametrize(
    "fields",
    [
        {"load_kg": 1e308},
        {"load_kg": -1e308},
        {"load_kg": 5e-324},
        {"reps": 10**18},
        {"reps": -1},
        {"reps": 5.5},
        {"reps": "5"},
        {"reps": True},
        {"load_kg": "80"},
        {"load_kg": [80]},
        {"load_kg": {"$gt": 0}},
        {"rpe": 11},
        {"set_number": 0},
        {"set_number": 2**31},
        {"duration_s": -5},
        {"duration_s": 1e9},
        {"kind": "__proto__"},
        {"exercise": "../back-squat"},
        {"exercise": "back-squat\u0000"},
        {"client": "*"},
        {"external_id": ""},
        {"external_id": "x" * 5000},
        {"external_id": "a\r\nb"},
        {"phase_s": {"eccentric": 1e308}},
        {"load_kg": 80, "load_lb": 80},
        {"constructor": {}},
        {"segments": [{}] * 10_000},
    ],
    ids=str,
)
def test_a_set_that_no_lifter_did_is_refused_at_its_place(
    fields: dict[str, Any], cast: Cast, world: dict[str, str]
) -> None:
    answer = cast.key("logs:write").post(BATCHES, {"set_logs": [_set(cast, **fields)]}, format="json")
    assert fault_of(answer) is None
    if answer.status_code == 200:
        item = answer.json()["items"][0]
        assert item["outcome"] == "refused", item
        assert all(fault["pointer"].startswith("#/") for fault in item["problem"]["errors"])
    with business_scope(cast.business_id):
        assert not SetLog.objects.filter(external_id="x1").exists()


@pytest.mark.parametrize("day", ["2199-12-31", "9999-12-31", "0001-01-01", "1969-12-31", "2031-02-30", "2031-03-20"])
def test_a_day_that_has_not_been_or_can_not_be_is_refused(day: str, cast: Cast, world: dict[str, str]) -> None:
    """The world stands at 14 March 2031."""
    answer = cast.key("logs:write").post(BATCHES, {"check_ins": [_check_in(cast, local_date=day)]}, format="json")
    assert [item["outcome"] for item in answer.json()["items"]] == ["refused"]


@pytest.mark.parametrize("text", ["a\u0000b", "\\ud800", "\\udfff", "a\u0008b", "a\u001bb", "a\u007fb"], ids=ascii)
def test_characters_that_no_text_holds_are_refused(text: str, cast: Cast, world: dict[str, str]) -> None:
    item = f'"external_id": "x1", "client": "{cast.anna.id}", "local_date": "2031-03-04", "notes": "{text}"'
    body = f'{{"check_ins": [{{{item}}}]}}'
    answer = cast.key("logs:write").post(BATCHES, body.encode(), content_type="application/json")
    assert fault_of(answer) is None
    assert answer.status_code == 400 or answer.json()["items"][0]["outcome"] == "refused"


def test_text_is_kept_as_it_came_and_answered_as_json_that_no_browser_runs(cast: Cast, world: dict[str, str]) -> None:
    """Direction marks among it: they are part of Hebrew and Arabic, so they are kept, and answered as data."""
    told = MARKUP + "\u202etxt.exe\u2066 שלום"
    sent = cast.key("logs:write").post(BATCHES, {"check_ins": [_check_in(cast, notes=told)]}, format="json")
    assert sent.json()["items"][0]["outcome"] == "created", sent.content
    with business_scope(cast.business_id):
        assert CheckIn.objects.get(external_id="x1").notes == told
    answer = cast.api(cast.coach).get("/api/v1/check-ins")
    assert told in [item["notes"] for item in answer.json()["items"]]
    assert answer.headers["Content-Type"].startswith("application/json")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


class _Tags(HTMLParser):
    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _value in attrs}

    def handle_data(self, data: str) -> None:
        self.text += data


def _assert_inert(html: str) -> None:
    read = _Tags(html)
    assert not {"script", "img", "iframe", "object", "embed", "base", "form"} & read.tags, read.tags
    assert not [name for name in read.attributes if name.startswith("on")]
    assert "alert(1)" in read.text


def test_no_card_runs_what_a_name_says(cast: Cast, world: dict[str, str]) -> None:
    api = cast.api(cast.owner)
    renamed = api.patch(f"/api/v1/clients/{cast.anna.id}", {"name": MARKUP}, format="json", HTTP_IF_MATCH="*")
    assert renamed.status_code == 200, renamed.content
    page = attack(api, CALLED["planned_sessions.card"], world, headers={"Accept": "text/html"})
    assert page.headers["Content-Type"].startswith("text/html")
    _assert_inert(page.content.decode())
    assert attack(api, CALLED["planned_sessions.card"], world, headers={"Accept": "application/pdf"}).status_code == 200


def test_no_mail_runs_what_a_name_says_or_gains_a_header_by_it() -> None:
    missed = MissedFact(
        alert_id=uuid4(),
        planned_session_id=uuid4(),
        client_id=uuid4(),
        client_name=MARKUP,
        client_zone="Europe/Paris",
        title=MARKUP,
        local_date=date(2031, 3, 12),
        counted_at=datetime(2031, 3, 13, 5, tzinfo=UTC),
        old=False,
    )
    mail = missed_digest(
        DigestFacts(
            digest_id=uuid4(),
            coach_name=MARKUP + "\r\nBcc: all@evil.example",
            coach_email="cora@northern-iron.example",
            coach_zone="Europe/Paris",
            business_name=MARKUP,
            local_date=date(2031, 3, 13),
            escalation_sessions=3,
            missed=(missed,),
            missed_in_a_row={missed.client_id: 1},
        )
    )
    _assert_inert(mail.html)
    assert not {"\r", "\n"} & set(mail.subject + mail.to)
