"""
Display units and digits: numbers as people read them.

Everything inside is in SI units; these functions act at the edge, on what is printed.  How many
digits a number gets follows from its error bar, so that nobody reads a thousandth that the
receiver cannot resolve.  Numbers that programs read (JSON, CSV, Parquet) never come through here.
"""

import math
from dataclasses import dataclass

from lapwright.arguments import checked

_FOOT_M = 0.3048  # exact: international foot, 1959
_MILE_M = 1609.344  # exact: 5280 international feet
# Accelerations are shown in multiples of it. Exact: 3rd CGPM, 1901.
STANDARD_GRAVITY_MPS2 = 9.80665

SPEED_PER_MPS = {"km/h": 3.6, "mph": 3600.0 / _MILE_M, "m/s": 1.0}
DISTANCE_PER_M = {"m": 1.0, "ft": 1.0 / _FOOT_M}
_ALSO = {"kmh": "km/h", "kph": "km/h", "km/hr": "km/h", "mps": "m/s"}

NOTHING = "-"
# A difference of less than so many sd is shown as no difference.
EQUAL_SD = 2.0


@dataclass(frozen=True, slots=True)
class Units:
    """
    The units a person reads.

    Attributes
    ----------
    speed : {"km/h", "mph", "m/s"}
    distance : {"m", "ft"}
        For distances along and across the track.

    Raises
    ------
    ValueError
        If one is none of these.

    Examples
    --------
    >>> import lapwright as lw
    >>> units = lw.Units.parse("mph,ft")
    >>> f"{units.speed_of(44.704):.0f} {units.speed}"
    '100 mph'
    """

    speed: str = "km/h"
    distance: str = "m"

    def __post_init__(self) -> None:
        if self.speed not in SPEED_PER_MPS:
            msg = f"{self.speed!r} is not a unit of speed; use {_either(SPEED_PER_MPS)}"
            raise ValueError(msg)
        if self.distance not in DISTANCE_PER_M:
            msg = f"{self.distance!r} is not a unit of distance; use {_either(DISTANCE_PER_M)}"
            raise ValueError(msg)

    @classmethod
    @checked
    def parse(cls, text: str) -> "Units":
        """
        Read units as people type them: a speed, and a distance after a comma if not metres.

        Parameters
        ----------
        text : str
            Such as ``"km/h"`` or ``"mph,ft"``.

        Returns
        -------
        Units

        Raises
        ------
        ValueError
            If it is none of the units there are.

        Examples
        --------
        >>> Units.parse("mph"), Units.parse("mph,ft"), Units.parse("kmh").speed
        (Units(speed='mph', distance='m'), Units(speed='mph', distance='ft'), 'km/h')
        """
        speed, _, distance = (part.strip().lower() for part in text.partition(","))
        return cls(_ALSO.get(speed, speed), distance or "m")

    def __str__(self) -> str:
        return self.speed if self.distance == "m" else f"{self.speed},{self.distance}"

    @checked
    def speed_of(self, speed_mps: float) -> float:
        """
        Convert a speed from m/s.

        Parameters
        ----------
        speed_mps : float
            [m/s]

        Returns
        -------
        float
            In the unit of speed.

        Examples
        --------
        >>> lw.Units("km/h").speed_of(10.0)
        36.0
        """
        return speed_mps * SPEED_PER_MPS[self.speed]

    @checked
    def distance_of(self, distance_m: float) -> float:
        """
        Convert a distance from metres.

        Parameters
        ----------
        distance_m : float
            [m]

        Returns
        -------
        float
            In the unit of distance.

        Examples
        --------
        >>> round(lw.Units("mph", "ft").distance_of(100.0))
        328
        """
        return distance_m * DISTANCE_PER_M[self.distance]


def _either(allowed: dict[str, float]) -> str:
    names = list(allowed)
    return f"{', '.join(names[:-1])} or {names[-1]}"


def decimals_for(sd: float, most: int = 3) -> int:
    """
    Digits after the point that an error bar leaves meaning in.

    Parameters
    ----------
    sd : float
        In the unit that is printed.
    most : int
        Upper limit, also where there is no error bar.

    Returns
    -------
    int
        So that the sd shows one digit, or two where the first is a 1.

    Examples
    --------
    >>> [decimals_for(sd) for sd in (0.004, 0.012, 0.03, 0.5, 3.0)]
    [3, 3, 2, 1, 0]
    """
    if not (math.isfinite(sd) and sd > 0.0):
        return most
    exponent = math.floor(math.log10(sd))
    # An sd that rounds up to the next power of ten, 0.0097 say, is counted as that.
    two_digits = 1 if round(sd / 10.0**exponent, 1) < 2.0 else 0
    return min(max(two_digits - exponent, 0), most)


def number(value: float, sd: float = math.nan, most: int = 1) -> str:
    """
    Write a number with the digits its error bar allows.

    Parameters
    ----------
    value, sd : float
        In the unit that is printed.
    most : int
        Most digits after the point.

    Returns
    -------
    str
        A dash where there is no number.

    Examples
    --------
    >>> number(83.123, 0.7), number(83.123, 2.5), number(float("nan"))
    ('83.1', '83', '-')
    """
    if not math.isfinite(value):
        return NOTHING
    return _without_minus_zero(f"{value:.{decimals_for(sd, most)}f}")


def signed(value: float, sd: float, most: int = 3) -> str:
    """
    Write a difference with its sign and the digits its error bar allows.

    Examples
    --------
    >>> signed(0.4312, 0.012), signed(-0.4312, 0.05), signed(0.0, 0.0)
    ('+0.431', '-0.43', '0.000')
    """
    text = number(value, sd, most)
    return f"+{text}" if value > 0.0 and float(text) != 0.0 else text


def error_bar(sd: float, most: int = 3) -> str:
    """
    Write an error bar of one sd with one digit, or two where the first is a 1.

    Examples
    --------
    >>> error_bar(0.00586), error_bar(0.0123), error_bar(0.031), error_bar(float("nan"))
    ('0.006', '0.012', '0.03', '-')
    """
    return NOTHING if not math.isfinite(sd) else f"{sd:.{decimals_for(sd, most)}f}"


def clock(time_s: float, sd_s: float = math.nan, most: int = 3) -> str:
    """
    Write a duration as minutes and seconds.

    Parameters
    ----------
    time_s, sd_s : float
        [s]
    most : int
        Most digits after the second.

    Returns
    -------
    str

    Examples
    --------
    >>> clock(95.0581, 0.006), clock(95.0581, 0.03), clock(59.9996), clock(8.2)
    ('1:35.058', '1:35.06', '1:00.000', '8.200')
    >>> clock(3725.0, most=0)
    '1:02:05'
    """
    if not math.isfinite(time_s):
        return NOTHING
    decimals = decimals_for(sd_s, most)
    # Whole ticks first, or 59.9996 s becomes 0:60.000.
    ticks = round(abs(time_s) * 10**decimals)
    seconds, fraction = divmod(ticks, 10**decimals)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    text = f"{seconds:02d}" if minutes or hours else str(seconds)
    if minutes or hours:
        text = f"{hours}:{minutes:02d}:{text}" if hours else f"{minutes}:{text}"
    if decimals:
        text += f".{fraction:0{decimals}d}"
    return f"-{text}" if time_s < 0.0 and ticks else text


def is_equal(difference: float, sd: float) -> bool:
    """
    Tell whether a difference is too small to be told from nothing.

    Examples
    --------
    >>> is_equal(0.02, 0.012), is_equal(0.03, 0.012), is_equal(0.0, 0.0)
    (True, False, True)
    """
    return difference == 0.0 or abs(difference) < EQUAL_SD * sd


def _without_minus_zero(text: str) -> str:
    return text.lstrip("-") if float(text) == 0.0 else text
