"""The README's tour, as it stands there, against the real web server on the demo's data."""

import os
import re
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connections
from django.utils import timezone

from coaching.demo.people import BUSINESS, COACHES, PASSWORD
from coaching.demo.play import Played, play, sign_in
from coaching.demo.processes import ROOT, Processes
from tests.conftest import empty_tables
from tests.processes import free_port, url_of

# Enough of curl for the tour, so that a machine without it runs the test too; any refusal ends the script.
CURL = """#!{python}
import sys, httpx
arguments, headers, body, address, kept, method = iter(sys.argv[1:]), {{}}, None, "", "", ""
for word in arguments:
    if word == "-H":
        name, value = next(arguments).split(": ", 1)
        headers[name] = value
    elif word == "-d":
        body = next(arguments)
    elif word == "--data-binary":
        body = open(next(arguments).removeprefix("@"), "rb").read()
    elif word == "-X":
        method = next(arguments)
    elif word == "-o":
        kept = next(arguments)
    elif word != "-s":
        address = word
method = method or ("GET" if body is None else "POST")
answer = httpx.request(method, address, headers=headers, content=body, timeout=60)
print("" if kept else answer.text)
if kept:
    open(kept, "wb").write(answer.content)
sys.exit(0 if answer.is_success else 22)
"""


@pytest.fixture
def served(django_db_setup: None, django_db_blocker: Any, tmp_path: Path) -> Iterator[tuple[str, Played]]:
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    environment = {
        "DATABASE_URL": url_of("default"),
        "PUBLIC_URL": address,
        "ALLOWED_HOSTS": "127.0.0.1",
        "SECRET_KEY": settings.SECRET_KEY,
    }
    with django_db_blocker.unblock():
        try:
            call_command(
                "create_business",
                name=BUSINESS,
                time_zone=COACHES[0].zone,
                owner_email=COACHES[0].email,
                owner_name=COACHES[0].name,
                owner_password=PASSWORD,
                verbosity=0,
            )
            connections.close_all()
            with Processes(tmp_path, environment) as processes:
                processes.start_web(port)
                with httpx.Client(base_url=address, timeout=60) as http:
                    played = play(http, now=timezone.now(), say=lambda _sentence: None)
                    processes.start_worker()
                    processes.start_beat()
                    _wait_until_computed(http, played)
                yield address, played
        finally:
            empty_tables()


def _wait_until_computed(http: httpx.Client, played: Played) -> None:
    owner, client = sign_in(http, COACHES[0].email), played.client_ids["ulf-penhaligon"]
    until = time.monotonic() + 90
    while any(week["being_refreshed"] for week in owner.get(f"/clients/{client}/progress", weeks=12)["weeks"]):
        assert time.monotonic() < until, "the worker has not computed the weeks"
        time.sleep(1)


def _tour() -> str:
    text = (ROOT / "README.md").read_text()
    titles = ("A tour with curl", "A person's own data")
    sections = (text.split(f"## {title}\n")[1].split("\n## ")[0] for title in titles)
    return "\n".join(line[4:] for section in sections for line in section.splitlines() if line.startswith("    "))


def test_each_command_of_the_tour_runs_as_printed(served: tuple[str, Played], tmp_path: Path) -> None:
    address, played = served
    script = _tour()
    assert script.count("curl -s") >= 7
    script = script.replace("http://127.0.0.1:8000", address).replace("KEY=cp_…", f"KEY={played.api_key}")
    curl = tmp_path / "curl"
    curl.write_text(CURL.format(python=sys.executable))
    curl.chmod(0o755)
    ran = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", script],
        env={**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        timeout=120,
        cwd=tmp_path,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout[-3000:] + ran.stderr[-3000:]
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF-")
    assert "[False, False, False, True]" in ran.stdout
    assert "(37, 'assigned')" in ran.stdout
    assert '"outcome":"accepted"' in ran.stdout
    assert '"line":1,"column":25,"code":"tempo"' in ran.stdout
    assert '"refused":1' in ran.stdout
    assert "There is no exercise" in ran.stdout or "back-squat" in ran.stdout
    assert "This is not a diagnosis." in ran.stdout
    assert re.search(r"against a median of .* over the last \d times?: ", ran.stdout)
    assert "Improving: +" in ran.stdout
    assert "Bench press: " in ran.stdout
    assert "the eccentric rushed in " in ran.stdout
    changed = re.search(r"\(\[(.*)\], 'changed'\)", ran.stdout)
    assert changed is not None
    assert len(changed[1].split(",")) == 1
    assert "('D3', \"'five' is not a number; write only the number.\")" in ran.stdout
    assert "('committed', {'created': 2" in ran.stdout
    assert zipfile.is_zipfile(tmp_path / "record.zip")
    assert "record.json" in ran.stdout
    assert ran.stdout.rstrip().endswith("client_erased")
