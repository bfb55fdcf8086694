"""The tables of evidence, and a run of the tests in them."""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final
from xml.etree import ElementTree as ET

from coaching.embedded.environment import DEVELOPMENT_DEFAULTS, held_servers
from tests.processes import ROOT
from tests.security.evidence import FOLDER, ITEMS, OWASP_FILES, UNMET, evidence_of, exists, risk_of

Outcomes = Mapping[str, str]
_SERVERS: Final = ("DATABASE_URL", "DATABASE_OWNER_URL", "REDIS_URL", "SECRET_KEY")
_EVERY_CASE: Final = "100000"
_WORDS: Final = {"passed": "pass", "failed": "FAIL", "": "not run"}


def run(*, every_case: bool) -> dict[str, str]:
    """Run all of `tests/security` and the tests elsewhere that the tables name; return each one's outcome."""
    elsewhere = sorted({name for item in _items() for name in evidence_of(item) if exists(name)})
    outside = [name for name in elsewhere if not name.startswith(f"{FOLDER}/")]
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:randomly",
            f"--junitxml={report}",
            str(FOLDER),
            *outside,
        ]
        cases = {"SCHEMA_CASES": _EVERY_CASE} if every_case else {}
        # Servers that manage.py started for itself are for development; the tests have their own.
        own = {*_SERVERS, *DEVELOPMENT_DEFAULTS} if held_servers() else set()
        given = {name: value for name, value in os.environ.items() if name not in own}
        subprocess.run(command, check=False, cwd=ROOT, env={**given, **cases}, stdout=sys.stderr)
        return _outcomes(report) if report.exists() else {}


def _outcomes(report: Path) -> dict[str, str]:
    found: dict[str, str] = {}
    for case in ET.parse(report).iter("testcase"):
        # The class of a test stands in the dotted path, after the module.
        parts = [part for part in case.get("classname", "").split(".") if not part[:1].isupper()]
        name = f"{'/'.join(parts)}.py::{case.get('name', '').partition('[')[0]}"
        bad = case.find("failure") is not None or case.find("error") is not None
        found[name] = "failed" if bad or found.get(name) == "failed" else "passed"
    return found


def table(outcomes: Outcomes | None) -> str:
    """Return both tables; with outcomes, pass or FAIL beside each test."""
    lines = ["OWASP API Security Top 10 (2023)"]
    for path in OWASP_FILES:
        number, rule = risk_of(path)
        lines += ["", f"{number}  {rule}", *_lines(_tests_in(path), outcomes)]
    lines += ["", "ASVS 5.0, items that apply"]
    for chapter, items in ITEMS.items():
        lines += ["", chapter]
        for item in items:
            lines += [f"  {item}  {UNMET.get(item, '')}".rstrip(), *_lines(evidence_of(item), outcomes)]
    bare = [item for item in _items() if not evidence_of(item) and item not in UNMET]
    failed = [name for name, outcome in (outcomes or {}).items() if outcome == "failed"]
    lines += [
        "",
        f"Items not met, or in part: {', '.join(UNMET)}",
        f"Items with neither test nor reason: {_listed(bare)}",
    ]
    if outcomes is not None:
        lines += [f"Tests run: {len(outcomes)}; failed: {_listed(failed)}"]
    return "\n".join(lines)


def faults(outcomes: Outcomes | None) -> list[str]:
    """Return what is wrong: items without evidence, tests that do not exist, did not run or failed."""
    named = [name for item in _items() for name in evidence_of(item)] + [
        n for path in OWASP_FILES for n in _tests_in(path)
    ]
    found = [f"{item} has neither test nor reason" for item in _items() if not evidence_of(item) and item not in UNMET]
    found += [f"{name} does not exist" for name in named if not exists(name)]
    if outcomes is not None:
        found += [
            f"{name} {_WORDS[outcomes.get(name, '')]}"
            for name in sorted({*named, *outcomes})
            if outcomes.get(name) != "passed"
        ]
    return found


def _lines(names: Iterable[str], outcomes: Outcomes | None) -> list[str]:
    told = [(_WORDS[outcomes.get(name, "")] if outcomes is not None else "", name) for name in names]
    return [f"  {word:<8}{name.removeprefix('tests/')}" for word, name in told]


def _tests_in(path: Path) -> list[str]:
    text = (ROOT / path).read_text()
    return [f"{path}::{line[4:].partition('(')[0]}" for line in text.splitlines() if line.startswith("def test_")]


def _items() -> list[str]:
    return [item for items in ITEMS.values() for item in items]


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names) or "none"
