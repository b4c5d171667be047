"""JSON reads back as it was, and no terminal obeys it."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nasty import cannot_be_seen, texts

from lapwright.escaping.json_text import json_text, json_to_show
from lapwright.escaping.unseen import visible

values = st.dictionaries(texts, st.one_of(texts, st.lists(texts, max_size=3), st.integers()))


@given(values, st.sampled_from(["utf-8", "ascii", "cp1252"]))
def test_reads_back_the_same_in_every_encoding(value: object, encoding: str) -> None:
    text = json_text(value, encoding)
    # RFC 8259: what is written is the value, by Python's own reader.
    assert json.loads(text) == value
    assert json.loads(text.encode(encoding).decode(encoding)) == value
    assert cannot_be_seen(text) == []
    assert "\n" not in text


def test_not_finite_is_an_error_unless_allowed() -> None:
    with pytest.raises(ValueError, match="Out of range"):
        json_text({"a": float("nan")})
    assert json_text([float("inf")], finite=False) == "[Infinity]"


@given(values)
def test_what_a_page_shows_is_visible(value: dict[str, object]) -> None:
    said = json.loads(json_to_show(value))
    assert set(said) == {visible(key) for key in value}
    assert cannot_be_seen("".join(map(str, [*said, *said.values()]))) == []


def test_numbers_are_not_touched() -> None:
    value = {"laps": {"1": {"speed": [1, 2.5, None], "name": "Zoë\u202e"}}}
    assert json.loads(json_to_show(value)) == {
        "laps": {"1": {"speed": [1, 2.5, None], "name": "Zoë[U+202E]"}}
    }
