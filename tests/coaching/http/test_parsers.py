"""Bodies that two readers could read differently are refused; the rest is read as it stands."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coaching.http.parsers import MAX_DEPTH, decode_object
from coaching.http.problem_documents import Problem


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (b"", "line 1"),
        (b'{"a": }', "column 7"),
        (b'{"a": 1,\n "b" 2}', "line 2"),
        (b"[1]", "one JSON object"),
        (b'"text"', "one JSON object"),
        (b'{"a": NaN}', "not JSON"),
        (b'{"a": Infinity}', "not JSON"),
        (b'{"a": 1e999}', "not JSON"),
        (b'{"a": "\\ud800"}', "not JSON"),
        (b'{"a": "\xff"}', "not JSON"),
        (b'\xef\xbb\xbf{"a": 1}', "not JSON"),
        (b'{"a": "x\\u0000y"}', "NUL"),
        (b'{"a": 1, "a": 2}', "'a' stands twice"),
        (b'{"a": {"b": 1, "c": 2, "b": [{"d": ":"}]}}', "'b' stands twice"),
        (b'{"a": 1, "\\u0061": 2}', "'a' stands twice"),
        (b'{"a": 1, "a": "\\u003a"}', "'a' stands twice"),
        (b'{"a": 1, "a": 2, "b": "\\u003A"}', "'a' stands twice"),
        (b'{"a":' + b"[" * MAX_DEPTH + b"]" * MAX_DEPTH + b"}", "nested deeper"),
        (b'{"a":' + b"[" * 10_000 + b"]" * 10_000 + b"}", "not JSON"),
    ],
)
def test_a_body_that_readers_could_differ_over_is_refused_with_its_place(body: bytes, told: str) -> None:
    with pytest.raises(Problem) as refused:
        decode_object(body)
    assert told in refused.value.sentence
    assert refused.value.status_code == 400


def test_the_deepest_body_admitted_is_read() -> None:
    inner = MAX_DEPTH - 1
    assert decode_object(b'{"a":' + b"[" * inner + b"]" * inner + b"}")


def test_escaped_backslashes_before_u0000_are_text() -> None:
    assert decode_object(b'{"a": "\\\\u0000"}') == {"a": "\\u0000"}


_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(":ab\\", max_size=3), inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=150)
@given(st.dictionaries(st.text(":ab\\", max_size=3), _VALUES, max_size=4), st.booleans())
def test_every_other_object_is_read_as_the_standard_reader_reads_it(document: dict[str, Any], escaped: bool) -> None:
    text = json.dumps(document, ensure_ascii=escaped)
    if "\\u0000" in text:
        text = text.replace("\\u0000", "")
    assert decode_object(text.encode()) == json.loads(text)


@settings(max_examples=100)
@given(st.lists(st.tuples(st.sampled_from(["a", "b", ":", "\\u003a", "c:d"]), _VALUES), min_size=1, max_size=5))
def test_a_key_that_stands_twice_is_always_found(pairs: list[tuple[str, Any]]) -> None:
    body = "{" + ",".join(f'"{key}": {json.dumps(value)}' for key, value in pairs) + "}"
    body = body.replace("\\u0000", "")
    keys = [json.loads(f'"{key}"') for key, _value in pairs]
    if len(set(keys)) == len(keys):
        assert len(decode_object(body.encode())) == len(keys)
    else:
        with pytest.raises(Problem):
            decode_object(body.encode())
