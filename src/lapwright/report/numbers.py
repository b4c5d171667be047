"""Numbers as they stand on a page: digits follow the error bar, and ± is one sd."""

import math
from collections.abc import Callable

from lapwright.units import Units, clock, decimals_for, is_equal

MINUS = "\N{MINUS SIGN}"
NOTHING = "\N{EN DASH}"
# A lap that cannot be told from the best.
EQUAL = "equal"


def plain(value: float, decimals: int = 1) -> str:
    """
    Write a number with a true minus sign, a dash where there is none.

    Examples
    --------
    >>> plain(-3.14159, 2), plain(float("nan"))
    ('−3.14', '–')
    """
    if not math.isfinite(value):
        return NOTHING
    text = f"{value:.{decimals}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def signed(value: float, decimals: int = 3) -> str:
    """
    Write a difference with its sign.

    Examples
    --------
    >>> signed(0.5, 1), signed(-0.01, 1)
    ('+0.5', '0.0')
    """
    text = plain(value, decimals)
    return text if not value > 0.0 or float(f"{value:.{decimals}f}") == 0.0 else f"+{text}"


def distance(distance_m: float, units: Units, decimals: int = 0) -> str:
    """
    Write a distance in the unit that is shown.

    Examples
    --------
    >>> distance(30.48, Units("mph", "ft")), distance(30.48, Units())
    ('100 ft', '30 m')
    """
    return f"{plain(units.distance_of(distance_m), decimals)} {units.distance}"


def with_sd(value: float, sd: float, most: int = 3) -> str:
    """
    Write a value and its error bar, with the digits that mean something.

    Examples
    --------
    >>> with_sd(83.1234, 0.102, 1), with_sd(113.26, 0.87)
    ('83.1 ± 0.1', '113.3 ± 0.9')
    >>> with_sd(float("nan"), 0.1), with_sd(0.0049, 0.0002)
    ('–', '0.005 ± <0.001')
    """
    return _pair(plain, value, sd, most)


def signed_with_sd(value: float, sd: float, most: int = 3) -> str:
    """
    Write a difference and its error bar.

    Examples
    --------
    >>> signed_with_sd(0.67252, 0.0087)
    '+0.673 ± 0.009'
    """
    return _pair(signed, value, sd, most)


def clock_with_sd(time_s: float, sd_s: float) -> str:
    """
    Write a lap time and its error bar.

    Examples
    --------
    >>> clock_with_sd(95.05810, 0.0059), clock_with_sd(95.0581, 0.12)
    ('1:35.058 ± 0.006', '1:35.06 ± 0.12')
    """
    return _pair(lambda value, most: clock(value, most=most), time_s, sd_s, 3)


def gap_text(gap_s: float, sd_s: float) -> str:
    """
    Write how far a lap is from the best; laps within two sd of each other are equal.

    Examples
    --------
    >>> gap_text(0.42, 0.009), gap_text(0.015, 0.009), gap_text(0.0, 0.0)
    ('+0.420 ± 0.009', 'equal', 'best')
    """
    if not math.isfinite(gap_s):
        return NOTHING
    if sd_s == 0.0:
        return "best"
    if is_equal(gap_s, sd_s):
        return EQUAL
    return signed_with_sd(gap_s, sd_s)


def _pair(write: Callable[[float, int], str], value: float, sd: float, most: int) -> str:
    if not math.isfinite(value):
        return NOTHING
    if not math.isfinite(sd):
        return write(value, min(most, 1))
    decimals = decimals_for(sd, most)
    text, bar = write(value, decimals), f"{sd:.{decimals}f}"
    if sd == 0.0:
        return text
    # An error bar is never nothing, however small it is against the last digit.
    return f"{text} ± <{10.0**-decimals:.{decimals}f}" if float(bar) == 0.0 else f"{text} ± {bar}"
