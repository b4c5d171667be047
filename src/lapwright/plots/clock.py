"""Lap times as people say them."""

import math


def clock(time_s: float, decimals: int = 3) -> str:
    """
    Write a time as minutes and seconds.

    Parameters
    ----------
    time_s : float
        [s]
    decimals : int
        Digits after the second.

    Returns
    -------
    str

    Examples
    --------
    >>> clock(95.0581)
    '1:35.058'
    >>> clock(59.96, 1)
    '1:00.0'
    >>> clock(8.25, 2)
    '0:08.25'
    """
    if not math.isfinite(time_s):
        return "-"
    scale = 10**decimals
    ticks = round(abs(time_s) * scale)
    minutes, rest = divmod(ticks, 60 * scale)
    width = 2 + (decimals + 1 if decimals else 0)
    sign = "-" if time_s < 0 and ticks else ""
    return f"{sign}{minutes}:{rest / scale:0{width}.{decimals}f}"
