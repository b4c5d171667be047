"""Digits follow the error bar, and equal is called equal."""

import math

import pytest

from lapwright.report.numbers import clock_with_sd, gap_text, plain, signed, signed_with_sd, with_sd


@pytest.mark.parametrize(
    ("value", "sd", "written"),
    [
        # One digit of the sd, two where it begins with a 1: counted by hand.
        (12.3456, 0.0123, "12.346 ± 0.012"),
        (12.3456, 0.0342, "12.35 ± 0.03"),
        (12.3456, 0.46, "12.3 ± 0.5"),
        (12.3456, 4.6, "12 ± 5"),
        (-0.5, 0.2, "\N{MINUS SIGN}0.5 ± 0.2"),
        (1.0, math.nan, "1.0"),
        (math.nan, 1.0, "\N{EN DASH}"),
        (0.0021, 0.00004, "0.002 ± <0.001"),
    ],
)
def test_with_sd(value: float, sd: float, written: str) -> None:
    assert with_sd(value, sd) == written


def test_no_more_digits_than_asked_for() -> None:
    assert with_sd(83.1234, 0.0123, 1) == "83.1 ± <0.1"


def test_signs() -> None:
    assert signed(0.25, 2) == "+0.25"
    assert signed(-0.25, 2) == "\N{MINUS SIGN}0.25"
    # Thousandths, where nothing else is asked for.
    assert signed(0.12345) == "+0.123"
    # What rounds to nothing has no sign.
    assert signed(0.0004, 3) == signed(-0.0004, 3) == plain(-0.0, 3) == "0.000"
    assert signed_with_sd(-0.0417, 0.0048) == "\N{MINUS SIGN}0.042 ± 0.005"


@pytest.mark.parametrize(
    ("gap", "sd", "written"),
    [
        (0.0, 0.0, "best"),
        # Less than two sd, and just more.
        (0.0159, 0.008, "equal"),
        (0.0161, 0.008, "+0.016 ± 0.008"),
        (math.nan, math.nan, "\N{EN DASH}"),
    ],
)
def test_gap(gap: float, sd: float, written: str) -> None:
    assert gap_text(gap, sd) == written


def test_clock_follows_the_error_bar() -> None:
    assert clock_with_sd(95.05810, 0.0059) == "1:35.058 ± 0.006"
    assert clock_with_sd(95.05810, 0.35) == "1:35.1 ± 0.3"
