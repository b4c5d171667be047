"""The reader of shown numbers: it must see what is wrong, or nothing that rests on it does."""

import math

import pytest
from shown import True_, all_wrong, exact, numbers_in, pair, read, wrong


@pytest.mark.parametrize(
    ("text", "value", "decimals", "sd"),
    # Each worked out by hand from what the text says.
    [
        ("3.692 ± 0.016", 3.692, 3, 0.016),
        ("1:35.202", 95.202, 3, None),
        ("1:02:05", 3725.0, 0, None),
        ("−0.4", -0.4, 1, None),
        ("+0.42", 0.42, 2, None),
        ("0.005 ± <0.001", 0.005, 3, 0.001),
    ],
)
def test_numbers_are_read(text: str, value: float, decimals: int, sd: float | None) -> None:
    shown = read(text)
    assert shown is not None
    assert shown.value == pytest.approx(value, abs=1e-12)
    assert (shown.decimals, shown.sd) == (decimals, sd)


def test_words_are_no_numbers() -> None:
    assert read("equal") is None
    assert read("3.6 s") is None
    assert read("") is None


def test_sentences_are_read_in_order_and_names_stay_words() -> None:
    text = "At 4 Long Barrow (0.430 ± 0.007 s), lap 12: 1:35.31, −2 m; 50 % of page-3."
    found = numbers_in(text, {"4 Long Barrow": "corner:4"})
    assert found[0] == "corner:4"
    assert [s.value for s in found[1:] if not isinstance(s, str)] == [0.430, 12, 95.31, -2, 50]


@pytest.mark.parametrize(
    ("text", "true"),
    [
        ("3.692 ± 0.016", pair(3.6924, 0.0158)),
        ("−0.4", True_(-0.44, most=1)),
        ("–", True_(math.nan)),
        ("12", exact(12)),
        ("0.005 ± <0.001", pair(0.0049, 0.0002)),
    ],
)
def test_right_numbers_are_right(text: str, true: True_) -> None:
    assert wrong(text, true) == ""


@pytest.mark.parametrize(
    ("text", "true"),
    [
        ("3.692 ± 0.016", pair(3.6926, 0.0158)),  # the last digit
        ("3.692 ± 0.016", pair(3.692, 0.0166)),  # of the error bar
        ("3.69 ± 0.02", pair(3.692, 0.016)),  # a digit lost
        ("3.692", pair(3.692, 0.016)),  # the error bar lost
        ("0.4", True_(-0.4, most=1)),  # the sign lost
        ("–", exact(0.0)),  # a dash for a number
        ("0", True_(math.nan)),  # a number for a dash
        ("0.005 ± <0.001", pair(0.005, 0.0008)),  # not below
    ],
)
def test_wrong_numbers_are_wrong(text: str, true: True_) -> None:
    assert wrong(text, true)


def test_a_number_too_few_or_too_many_is_wrong() -> None:
    assert all_wrong(numbers_in("1 and 2"), [exact(1), exact(2)]) == []
    assert all_wrong(numbers_in("1"), [exact(1), exact(2)])
    assert all_wrong(numbers_in("1, 2, 3"), [exact(1), exact(2)])
    assert all_wrong(numbers_in("2, 1"), [exact(1), exact(2)])
