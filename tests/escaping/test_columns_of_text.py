"""Columns of a terminal, and breaking a text to fit them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nasty import texts

from lapwright.escaping.columns_of_text import columns_of, folded, left_aligned, right_aligned
from lapwright.escaping.unseen import visible


@pytest.mark.parametrize(
    # Unicode Standard Annex 11: W and F take two columns; a combining mark takes none.
    ("text", "columns"),
    [("abc", 3), ("鈴鹿", 4), ("ＡＢ", 4), ("é", 1), ("e\u0301", 1), ("\U0001f3ce", 1),
     ("\U0001f600", 2)],
)  # fmt: skip
def test_columns(text: str, columns: int) -> None:
    assert columns_of(text) == columns
    assert left_aligned(text, 6) == text + " " * (6 - columns)
    assert right_aligned(text, 6) == " " * (6 - columns) + text


@given(texts, st.integers(2, 30))
def test_no_line_is_wider_and_nothing_but_blanks_is_lost(text: str, columns: int) -> None:
    text = visible(text).replace("\n", " ").replace("\t", " ")
    lines = folded(text, columns)
    assert lines
    assert max(map(columns_of, lines)) <= columns
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
