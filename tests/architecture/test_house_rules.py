"""House rules that no linter knows; each message says what to do."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
APPS = ("coaching", "programs", "logs")
PURE = ("programs/prescription", "logs/analysis", "logs/imports", "coaching/measures", "coaching/screening")


def _files(*patterns: str) -> list[Path]:
    return sorted(path for app in APPS for pattern in patterns for path in (ROOT / app).glob(pattern))


def _trees(paths: list[Path]) -> Iterator[tuple[Path, ast.Module]]:
    for path in paths:
        yield path.relative_to(ROOT), ast.parse(path.read_text())


def test_views_tasks_and_commands_reach_rows_only_through_selectors_and_actions() -> None:
    paths = _files("api/**/*.py", "http/**/*.py", "tasks.py", "management/**/*.py")
    assert len(paths) > 20
    offences = [
        f"{path}:{node.lineno} uses .objects: call a selector or an action"
        for path, tree in _trees(paths)
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and node.attr in {"objects", "unscoped"}
    ]
    assert offences == []


def test_only_actions_open_transactions_for_rows() -> None:
    paths = _files("api/**/*.py", "selectors/**/*.py", "tasks.py", "models/**/*.py")
    offences = [
        f"{path}:{node.lineno} imports django.db.transaction: move the write to an action"
        for path, tree in _trees(paths)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
        and node.module == "django.db"
        and "transaction" in {name.name for name in node.names}
    ]
    assert offences == []


def test_every_pure_constant_says_where_it_is_from() -> None:
    offences = []
    for path, tree in _trees(
        [ROOT / package / "constants.py" for package in PURE if (ROOT / package / "constants.py").exists()]
    ):
        for statement, following in zip(tree.body, [*tree.body[1:], None], strict=True):
            if not isinstance(statement, ast.AnnAssign):
                continue
            said = (
                following.value.value
                if isinstance(following, ast.Expr) and isinstance(following.value, ast.Constant)
                else ""
            )
            if "Source:" not in str(said) and "ractice" not in str(said):
                offences.append(f"{path}:{statement.lineno} has no docstring with its source, or Practice.")
    assert offences == []


@pytest.mark.parametrize("package", PURE)
def test_pure_packages_read_no_clock(package: str) -> None:
    clocks = {("datetime", "now"), ("datetime", "utcnow"), ("date", "today"), ("time", "time"), ("timezone", "now")}
    offences = [
        f"{path}:{node.lineno} reads the clock: take the instant as an argument"
        for path, tree in _trees(sorted((ROOT / package).rglob("*.py")))
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name | ast.Attribute)
        and (getattr(node.value, "id", getattr(node.value, "attr", "")), node.attr) in clocks
    ]
    assert offences == []


def test_no_file_is_a_drawer_of_leftovers() -> None:
    drawers = {"utils", "helpers", "common", "base", "misc", "manager"}
    assert [str(path) for path in _files("**/*.py") if path.stem in drawers] == []


def test_no_test_shadows_another_of_its_name() -> None:
    offences = []
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        names = [node.name for node in ast.parse(path.read_text()).body if isinstance(node, ast.FunctionDef)]
        offences += [f"{path.name}: {name}" for name in set(names) if names.count(name) > 1]
    assert offences == []
