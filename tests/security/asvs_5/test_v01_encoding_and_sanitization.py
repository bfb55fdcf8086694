"""V1 Encoding and sanitization."""

import ast
import re
from collections.abc import Iterator
from typing import Final

import pytest

from tests.processes import ROOT
from tests.scenario import Cast

SQL: Final = ("' OR '1'='1", "%' OR TRUE --", "'; DELETE FROM coaching_client; --", "\\' OR 1=1 --", "%", "_", "Ann_")


@pytest.mark.parametrize("text", SQL)
def test_a_filter_is_a_value_and_never_sql(text: str, cast: Cast) -> None:
    """1.2.4 What callers send reaches the database as a parameter, wildcards of LIKE included."""
    api = cast.api(cast.owner)
    assert [row["name"] for row in api.get("/api/v1/clients", {"name": "Ann"}).json()["items"]] == ["Anna"]
    assert api.get("/api/v1/clients", {"name": text}).json()["items"] == []
    assert len(api.get("/api/v1/clients").json()["items"]) == 3


def _calls(*names: str) -> Iterator[str]:
    for folder in ("coaching", "programs", "logs"):
        for file in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(file.read_text())):
                function = node.func if isinstance(node, ast.Call) else None
                name = getattr(function, "id", None) or getattr(function, "attr", None)
                if name in names:
                    yield f"{file.relative_to(ROOT)}:{node.lineno} {name}"  # type: ignore[attr-defined]  # a call has a line


def test_no_template_is_built_from_text() -> None:
    """1.3.7 Templates are files of the project; no code compiles one, nor evaluates a text."""
    assert list(_calls("Template", "from_string", "eval", "exec")) == []
    # A card's own style sheet and drawing, whose texts are escaped where they are drawn.
    assert {place.partition(":")[0] for place in _calls("mark_safe")} <= {"programs/documents/card_page.py"}


def test_no_command_is_run_by_a_shell() -> None:
    """1.2.5 No request starts a program through a shell."""
    assert list(_calls("popen", "getoutput", "getstatusoutput")) == []
    for folder in ("coaching", "programs", "logs"):
        assert not [
            file for file in (ROOT / folder).rglob("*.py") if re.search(r"shell=True|os\.system", file.read_text())
        ]
