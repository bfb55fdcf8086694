"""API7:2023. No endpoint fetches an address that a caller gives: none takes one, and no code of requests fetches.

Shown three ways: the schema has no such input, the code imports nothing that could, and a listener on this machine
is never called by the documents, spreadsheets and texts that could make a careless library do it.
"""

import ast
import io
import json
import socket
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

import openpyxl
import pytest
from drf_spectacular.generators import SchemaGenerator

from tests.processes import ROOT
from tests.scenario import Cast
from tests.security.operations import CALLED, attack

XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

# What may open a connection, and why.
CONNECTS: Final = {
    "coaching/delivery/email.py": "the operator's own mail server, of EMAIL_URL",
    "coaching/http/health.py": "the operator's own broker, of REDIS_URL",
    "coaching/http/rate_limits.py": "the operator's own broker, of REDIS_URL",
}
FETCHERS: Final = frozenset(
    {
        "requests",
        "urllib3",
        "httpx",
        "aiohttp",
        "urllib.request",
        "http.client",
        "ftplib",
        "smtplib",
        "socket",
        "redis",
        "telnetlib",
        "poplib",
        "imaplib",
        "xmlrpc",
        "pycurl",
        "websocket",
        "paramiko",
    }
)
# Words of a name that would be an address to fetch.
ADDRESSES: Final = frozenset(
    {"url", "uri", "link", "href", "endpoint", "callback", "webhook", "host", "image", "avatar"}
)


def _inputs(document: Any) -> Iterator[tuple[str, Any]]:
    """Yield each property of each request body and each parameter, by its place."""
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            for parameter in operation.get("parameters", ()):
                yield f"{method} {path} {parameter['name']}", parameter["schema"]
            for media in operation.get("requestBody", {}).get("content", {}).values():
                yield from _properties(document, media["schema"], f"{method} {path}", frozenset())


def _properties(document: Any, schema: Any, place: str, seen: frozenset[str]) -> Iterator[tuple[str, Any]]:
    reference = schema.get("$ref", "")
    if reference in seen:
        return
    if reference:
        schema, seen = document["components"]["schemas"][reference.rpartition("/")[2]], seen | {reference}
    for name, inner in schema.get("properties", {}).items():
        yield f"{place} {name}", inner
        yield from _properties(document, inner, f"{place} {name}", seen)
    for inner in [*schema.get("oneOf", ()), *schema.get("anyOf", ()), *schema.get("allOf", ())]:
        yield from _properties(document, inner, place, seen)
    if isinstance(schema.get("items"), dict):
        yield from _properties(document, schema["items"], place, seen)


def test_no_operation_takes_an_address() -> None:
    document = SchemaGenerator().get_schema(request=None, public=True)
    inputs = dict(_inputs(document))
    assert len(inputs) > 300
    named = [place for place in inputs if ADDRESSES & set(place.rpartition(" ")[2].lower().split("_"))]
    formatted = [place for place, schema in inputs.items() if str(schema.get("format", "")).startswith(("uri", "url"))]
    assert named == formatted == []


def test_no_code_of_the_service_imports_what_fetches() -> None:
    found = {}
    for folder in ("coaching", "programs", "logs"):
        for file in (ROOT / folder).rglob("*.py"):
            name = str(file.relative_to(ROOT))
            # Servers of development and the demonstration, which no request reaches.
            if name.startswith(("coaching/embedded/", "coaching/demo/", "coaching/management/")) or name in CONNECTS:
                continue
            imported = FETCHERS & set(_imports(file.read_text()))
            if imported:
                found[name] = imported
    assert found == {}
    assert all((ROOT / name).exists() for name in CONNECTS)


def _imports(source: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(source)):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
        for name in names:
            yield name
            yield name.split(".")[0]


@contextmanager
def listener() -> Iterator[tuple[str, socket.socket]]:
    """A listener on this machine; whoever calls it has been made to."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setblocking(False)
        yield f"http://127.0.0.1:{server.getsockname()[1]}/x.png", server


def _called(server: socket.socket) -> bool:
    try:
        server.accept()
    except BlockingIOError:
        return False
    return True


def _spreadsheet(address: str) -> bytes:
    book, kept, hostile = openpyxl.Workbook(), io.BytesIO(), io.BytesIO()
    sheet: Any = book.active
    sheet.append(["Date", "Exercise", "Reps"])
    sheet.append(["2031-03-10", f'=WEBSERVICE("{address}")', 5])
    sheet["C2"].hyperlink = address
    book.save(kept)
    entity = f'<!DOCTYPE x [<!ENTITY e SYSTEM "{address}">]>'
    with zipfile.ZipFile(kept) as source, zipfile.ZipFile(hostile, "w") as target:
        for name in source.namelist():
            data = source.read(name)
            if name == "xl/workbook.xml":
                data = data.replace(b"<workbook", entity.encode() + b"<workbook", 1).replace(b'Sheet"', b'&e;"', 1)
            target.writestr(name, data)
    return hostile.getvalue()


def test_no_spreadsheet_makes_the_service_call_out(cast: Cast, world: dict[str, str]) -> None:
    with listener() as (address, server):
        for content, kind in (
            (_spreadsheet(address), XLSX),
            (f'Date,Exercise,Reps\n2031-03-10,=WEBSERVICE("{address}"),5\n'.encode(), "text/csv"),
        ):
            api = cast.api(cast.coach)
            made = api.post(f"/api/v1/log-imports?client={world['client_id']}", content, content_type=kind)
            assert made.status_code in {201, 400}, made.content
            if made.status_code == 201:
                api.post(f"/api/v1/log-imports/{made.json()['id']}/dry-run", {}, format="json")
        assert not _called(server)


@pytest.mark.parametrize("accept", ["text/html", "application/pdf"])
def test_no_text_on_a_card_makes_the_service_or_the_reader_call_out(
    accept: str, cast: Cast, world: dict[str, str]
) -> None:
    with listener() as (address, server):
        hostile = f'#image("{address}") ![x]({address}) <img src="{address}"> #read("/etc/passwd") \\input{{{address}}}'
        api, content = cast.api(cast.owner), json.loads(json.dumps(_content(world)))
        content["weeks"][0]["days"][0]["blocks"][0]["slots"][0]["notes"] = hostile
        content["weeks"][0]["days"][0]["title"] = hostile[:100]
        made = api.patch(
            f"/api/v1/program-versions/{world['draft_id']}", {"content": content}, format="json", HTTP_IF_MATCH="*"
        )
        assert made.status_code == 200, made.content[:500]
        renamed = api.patch(
            f"/api/v1/clients/{world['client_id']}", {"name": hostile[:100]}, format="json", HTTP_IF_MATCH="*"
        )
        assert renamed.status_code == 200, renamed.content[:500]
        card = attack(api, CALLED["planned_sessions.card"], world, headers={"Accept": accept})
        assert card.status_code == 200
        assert not _called(server)
    text = card.content.decode(errors="replace")
    assert "<img" not in text
    assert "root:x:0:0" not in text


def _content(world: dict[str, str]) -> Any:
    from tests.programs.documents import content

    return content(weeks=1, days=1)
