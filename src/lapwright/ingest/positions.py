"""
Latitude and longitude in any notation to degrees.

Degrees, degrees and minutes, degrees, minutes and seconds, whole 1e-7 degrees, radians, minutes
of arc; hemisphere as a sign, a letter in the field or a letter in a column of its own.
"""

import io
from collections.abc import Callable

import numpy as np
import pandas as pd

from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding
from lapwright.ingest.stamps import Cells
from lapwright.ingest.time_scales import Bools, Floats


def angles(cells: Cells, decimal: str, o_is_east: bool) -> Floats:
    """
    Read coordinates written as text: ``48°07.038' N``, ``37.7975866 S``, ``-12 30 15.5``.

    Parameters
    ----------
    cells : ndarray of uint8, shape (n, width)
    decimal : str
        The decimal sign.
    o_is_east : bool
        What the letter O stands for: Ost, or Ovest, Ouest, Oeste.

    Returns
    -------
    angle : ndarray, shape (n,)
        In degrees where there are several parts, else the one number as it stands; negative
        in the south and west; NaN where it is no number.
    """
    upper = np.where((cells >= 97) & (cells <= 122), cells - 32, cells)
    west = (upper == ord("S")) | (upper == ord("W"))
    if not o_is_east:
        west |= upper == ord("O")
    minus = upper == ord("-")
    negative = west.any(axis=1) | (minus & (np.cumsum(upper != 32, axis=1) == 1)).any(axis=1)
    digit = (upper >= 48) & (upper <= 57)
    point = upper == ord(decimal)
    clean = np.where(digit, upper, np.where(point, ord("."), 32)).astype(np.uint8)
    filled = clean != 32
    parts = (filled & ~np.pad(filled, ((0, 0), (1, 0)))[:, :-1]).sum(axis=1)
    out = np.full(len(cells), np.nan)
    for count in (1, 2, 3):
        rows = parts == count
        if rows.any():
            out[rows] = _read_parts(clean[rows], count)
    return np.where(negative, -out, out)


def _read_parts(clean: Cells, count: int) -> Floats:
    """Read one, two or three numbers a row."""
    lines = np.full((len(clean), clean.shape[1] + 1), 10, np.uint8)
    lines[:, :-1] = clean
    frame = pd.read_csv(
        io.BytesIO(lines.tobytes()), sep=r"\s+", header=None, names=list(range(count))
    )
    numbers = frame.apply(pd.to_numeric, errors="coerce").to_numpy(np.float64)
    weights = np.array([1.0, 1 / 60, 1 / 3600])[:count]
    return np.asarray(numbers @ weights, np.float64)


def to_degrees(
    lat: Floats,
    lon: Floats,
    lat_unit: str | None,
    lon_unit: str | None,
    packed: bool = False,
    angle_deg: Callable[[Floats, Floats], float] | None = None,
) -> tuple[Floats, Floats, Finding | None]:
    """
    Bring coordinates to degrees, by their unit or by their size.

    Parameters
    ----------
    lat, lon : ndarray, shape (n,)
    lat_unit, lon_unit : str or None
    packed : bool
        The texts have the four and five leading digits of ddmm.mmmm and dddmm.mmmm.
    angle_deg : callable, optional
        Finds out what one stands for in whole numbers; without it 1e-7 degrees.

    Returns
    -------
    lat_deg, lon_deg : ndarray, shape (n,)
    note : Finding or None
        What was found out, where the file does not say it.
    """
    unit = lat_unit or lon_unit
    if unit == "rad":
        return np.degrees(lat), np.degrees(lon), None
    if unit == "1e-7 deg":
        return lat * 1e-7, lon * 1e-7, None
    if unit == "1e-6 deg":
        return lat * 1e-6, lon * 1e-6, None
    if unit == "ddmm.mmmm" or (unit is None and packed):
        return _packed_minutes(lat), _packed_minutes(lon), None
    used = np.isfinite(lat) & np.isfinite(lon) & ((lat != 0) | (lon != 0))
    if not used.any():
        return lat, lon, None
    typical = max(float(np.median(np.abs(lat[used]))), float(np.median(np.abs(lon[used]))) / 4)
    if typical <= 90.0:
        return lat, lon, None
    if unit == "min":
        return lat / 60, lon / 60, None
    if typical > 1e5:
        one = angle_deg(lat, lon) if angle_deg is not None else 1e-7
        name = "1e-6" if one == 1e-6 else "1e-7"
        text = f"positions are whole numbers; read as {name} degrees"
        return lat * one, lon * one, finding("position_unit_inferred", text)
    if _fit_minutes(lat[used]) and _fit_minutes(lon[used]) and typical <= 9000:
        text = "positions are beyond 90; read as degrees and minutes (ddmm.mmmm)"
        return (
            _packed_minutes(lat),
            _packed_minutes(lon),
            finding("position_unit_inferred", text),
        )
    if typical <= 5400:
        text = "positions are beyond 90; read as minutes of arc"
        return lat / 60, lon / 60, finding("position_unit_inferred", text)
    return lat, lon, None


def _fit_minutes(value: Floats) -> bool:
    """Tell ddmm.mmmm: the last two digits before the point stay below 60."""
    return bool((np.abs(value) % 100 < 60).all())


def _packed_minutes(value: Floats) -> Floats:
    """
    Split ddmm.mmmm.

    >>> _packed_minutes(np.array([4807.038])).round(7)
    array([48.1173])
    """
    whole = np.trunc(value / 100)
    return np.asarray(whole + (value - whole * 100) / 60, np.float64)


def southern(letters: Cells, o_is_east: bool) -> Bools:
    """Tell the rows whose hemisphere column says south or west."""
    upper = np.where((letters >= 97) & (letters <= 122), letters - 32, letters)
    first = upper[:, 0]
    west = (first == ord("S")) | (first == ord("W"))
    if not o_is_east:
        west |= first == ord("O")
    return np.asarray(west, np.bool_)
