"""Times of a fraction of a lap in a sentence, with what they are unsure by."""

from lapwright.units import decimals_for


def seconds(value: float, sd: float) -> tuple[str, str]:
    """
    A time and its standard deviation, no finer than the latter deserves.

    Examples
    --------
    >>> seconds(0.2512, 0.043)
    ('0.25 s', '0.04 s')
    """
    decimals = decimals_for(sd)
    return f"{value:.{decimals}f} s", f"{sd:.{decimals}f} s"


def seconds_with_error(value: float, sd: float) -> str:
    """
    A time with the receiver's error, as of two laps' difference.

    Examples
    --------
    >>> seconds_with_error(0.2512, 0.043)
    '0.25 ± 0.04 s'
    """
    time, error = seconds(value, sd)
    return f"{time.removesuffix(' s')} \N{PLUS-MINUS SIGN} {error}"


def seconds_with_spread(value: float, sd: float) -> str:
    """
    A time whose sd holds what laps differ by, so without a plus-minus sign.

    Examples
    --------
    >>> seconds_with_spread(0.2512, 0.043)
    '0.25 s (sd 0.04 s)'
    """
    time, spread = seconds(value, sd)
    return f"{time} (sd {spread})"
