"""The tables of evidence are whole: every risk has its file, every item its tests or its reason, every test exists."""

from pathlib import Path

from tests.security.evidence import ELSEWHERE, ITEMS, OWASP_FILES, UNMET, evidence_of, exists, named_tests, risk_of

ALL = [item for items in ITEMS.values() for item in items]


def test_each_of_the_ten_risks_has_a_file_whose_first_line_is_its_rule() -> None:
    assert [risk_of(path)[0] for path in OWASP_FILES] == [f"API{number}" for number in range(1, 11)]
    assert all(risk_of(path)[1] for path in OWASP_FILES)


def test_each_item_has_tests_or_a_reason() -> None:
    assert [item for item in ALL if not evidence_of(item) and item not in UNMET] == []
    assert [item for item in UNMET if item not in ALL] == []


def test_each_test_that_is_named_exists() -> None:
    assert [name for names in ELSEWHERE.values() for name in names if not exists(name)] == []


def test_each_test_of_asvs_names_its_items_in_its_own_chapter() -> None:
    for name, items in named_tests():
        assert items, name
        chapter = int(Path(name.partition("::")[0]).name[len("test_v") :][:2])
        assert any(item.startswith(f"{chapter}.") for item in items) or items == ("6.5.2",), name
