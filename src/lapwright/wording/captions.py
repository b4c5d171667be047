"""Captions of a video in words: two or three short lines each."""

import unicodedata
from collections.abc import Mapping

import numpy as np

from lapwright.escaping.unseen import visible
from lapwright.units import Units, clock, error_bar, is_equal, number, signed
from lapwright.wording.flags import KIND_WORDS, flag_list
from lapwright.wording.terms import corner_title, sentence

# A line of a caption that is longer is broken by the player, or cut off.
LONGEST_NAME = 32
_PM = "\N{PLUS-MINUS SIGN}"


def delta_text(delta_s: float, sd_s: float) -> str:
    """
    Write a delta with its sign, to the digits that its error bar allows; '' where there is none.

    Examples
    --------
    >>> delta_text(0.2134, 0.021), delta_text(-0.2134, 0.004), delta_text(0.01, 0.02)
    ('+0.21 ± 0.02 s', '-0.213 ± 0.004 s', 'equal')
    >>> delta_text(float("nan"), 0.02)
    ''
    """
    if not np.isfinite(delta_s):
        return ""
    # A bar that is all but nothing, as on the line, has no digits of its own.
    if is_equal(delta_s, sd_s) or float(number(delta_s, sd_s, most=3)) == 0.0:
        return "equal"
    return f"{signed(delta_s, sd_s)} {_PM} {error_bar(sd_s)} s"


def running_clock(time_s: float) -> str:
    """
    Write a time to a tenth, with minutes from the first second on, so that it does not jump.

    Examples
    --------
    >>> running_clock(0.04), running_clock(59.96), running_clock(3725.0)
    ('0:00.0', '1:00.0', '1:02:05.0')
    """
    minutes, tenths = divmod(round(10.0 * time_s), 600)
    hours, minutes = divmod(minutes, 60)
    head = f"{hours}:{minutes:02d}" if hours else f"{minutes}"
    return f"{head}:{tenths // 10:02d}.{tenths % 10}"


def caption_lines(
    row: Mapping[str, object], names: Mapping[int, str], units: Units, *, reference: bool = False
) -> list[str]:
    """
    Write one caption.

    Parameters
    ----------
    row : mapping
        Of `lapwright.captions.caption_table`.
    names : mapping of int to str
        Names of corners by number.
    units : Units
    reference : bool
        Whether the lap is the reference lap.

    Returns
    -------
    list of str
        Lap, time so far and delta; speed and corner.

    Examples
    --------
    >>> row = {"lap": 4, "kind": "timed", "lap_time_s": 62.5, "delta_s": 0.2134,
    ...        "delta_sd_s": 0.021, "speed_mps": 39.8, "corner": 4, "pit_lane": False}
    >>> caption_lines(row, {4: "Long Barrow"}, Units())
    ['Lap 4  1:02.5  +0.21 ± 0.02 s', '143 km/h  4 Long Barrow']
    """
    time_s, delta_s, sd_s, speed_mps = (
        float(str(row[key])) for key in ("lap_time_s", "delta_s", "delta_sd_s", "speed_mps")
    )
    corner = int(str(row["corner"]))
    kind = str(row["kind"])
    first = [
        f"Lap {row['lap']}" if kind == "timed" else sentence(KIND_WORDS[kind]),
        running_clock(time_s) if np.isfinite(time_s) else "",
        "reference lap" if reference else delta_text(delta_s, sd_s),
    ]
    known = np.isfinite(speed_mps)
    second = [
        f"{number(units.speed_of(speed_mps), most=0)} {units.speed}" if known else "",
        "gap in the log" if not known else "",
        "pit lane" if row["pit_lane"] else "",
        sentence(corner_title(corner, short_name(names.get(corner, "")))) if corner else "",
    ]
    return ["  ".join(filter(None, part)) for part in (first, second)]


def done_line(lap: Mapping[str, object], delta_s: float, delta_sd_s: float) -> str:
    """
    Write the time of a lap that has just ended.

    Parameters
    ----------
    lap : mapping
        Of the lap table.
    delta_s, delta_sd_s : float
        To the reference lap; NaN where there is none.

    Returns
    -------
    str

    Examples
    --------
    >>> lap = {"lap": 3, "time_s": 96.605, "time_sd_s": 0.0051, "flags": ()}
    >>> done_line(lap, 1.403, 0.007)
    'Lap 3: 1:36.605 ± 0.005 s, +1.403 ± 0.007 s'
    """
    time_s, sd_s = float(str(lap["time_s"])), float(str(lap["time_sd_s"]))
    flags = lap["flags"]
    assert isinstance(flags, tuple)
    aside = [flag for flag in flags if flag != "bridged"]
    parts = [
        f"Lap {lap['lap']}: {clock(time_s, sd_s)} {_PM} {error_bar(sd_s)} s",
        delta_text(delta_s, delta_sd_s),
        f"set aside: {flag_list(aside)}" if aside else "",
    ]
    return ", ".join(filter(None, parts))


def short_name(name: str) -> str:
    r"""
    Make a name fit on a line of a caption: on one line, not too long, its direction its own.

    Examples
    --------
    >>> short_name("The  Long\nBarrow")
    'The Long Barrow'
    >>> len(short_name("x" * 100))
    32
    """
    text = visible(" ".join(name.split()))
    if len(text) > LONGEST_NAME:
        text = text[: LONGEST_NAME - 1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"
    if any(unicodedata.bidirectional(c) in ("R", "AL") for c in text):
        # Written from right to left, it would carry the numbers beside it along (Unicode UAX 9).
        return f"\N{FIRST STRONG ISOLATE}{text}\N{POP DIRECTIONAL ISOLATE}"
    return text
