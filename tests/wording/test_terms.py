"""A corner is called by number and name, in a heading and in a sentence."""

import pytest

from lapwright.wording.terms import at_corner, corner_in_text, corner_title, ledger_title


@pytest.mark.parametrize(("name", "title", "text"), [
    ("Long Barrow", "4 Long Barrow", "Long Barrow (4)"),
    ("4", "corner 4", "corner 4"),
    ("", "corner 4", "corner 4"),
])  # fmt: skip
def test_a_number_is_no_name(name: str, title: str, text: str) -> None:
    assert corner_title(4, name) == title
    assert corner_in_text(4, name) == text


def test_the_start_of_the_lap_is_named() -> None:
    assert ledger_title(0, "") == "start to corner 1"
    assert at_corner(0, "") == "between the start line and corner 1"
    assert at_corner(3, "3") == "at corner 3"
