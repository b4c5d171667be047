"""
Dates and times of day written as text, to whole nanoseconds.

A logger writes every stamp alike, so the characters of all rows are compared with
the first row's *layout* (its digits replaced by ``0``); one regular expression then says where
year, hour and the rest stand, and numpy reads them for all rows at once.  What is left over
is taken up by the next layout.  `pandas.to_datetime` reads only one notation at a time,
refuses the leap second and needs the text as Python strings first.
"""

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.ingest.time.scales import DAY_NS, NANO, NO_TIME, Bools, Ints, leap_table

Cells = npt.NDArray[np.uint8]

_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "JAN JANUARY JANUAR JANV JANVIER GEN GENNAIO ENE ENERO JANEIRO",
            "FEB FEBRUARY FEBRUAR FEVR FEVRIER FEBBRAIO FEBRERO FEV FEVEREIRO",
            "MAR MARCH MRZ MARZ MARS MARZO MARCO MRT MAART",
            "APR APRIL AVR AVRIL APRILE ABR ABRIL",
            "MAY MAI MAG MAGGIO MAYO MAIO MEI",
            "JUN JUNE JUNI JUIN GIU GIUGNO JUNIO JUNHO",
            "JUL JULY JULI JUIL JUILLET LUG LUGLIO JULIO JULHO",
            "AUG AUGUST AOUT AGO AGOSTO AUGUSTUS",
            "SEP SEPT SEPTEMBER SEPTEMBRE SET SETTEMBRE SEPTIEMBRE SETEMBRO",
            "OCT OCTOBER OKT OKTOBER OCTOBRE OTT OTTOBRE OCTUBRE OUT OUTUBRO",
            "NOV NOVEMBER NOVEMBRE NOVIEMBRE NOVEMBRO",
            "DEC DECEMBER DEZ DEZEMBER DECEMBRE DIC DICEMBRE DICIEMBRE DEZEMBRO",
        ),
        start=1,
    )
    for name in names.split()
}

_DATES = (
    r"(?P<y>0000)(?P<sep>[-/.])(?P<m>00?)(?P=sep)(?P<d>00?)",
    r"(?P<a>00?)(?P<sep>[-/.])(?P<b>00?)(?P=sep)(?P<y>0000|00)",
    r"(?P<y>0000)(?P<m>00)(?P<d>00)",
    r"(?P<d>00?)[-. ]*(?P<name>[A-Z]{3,10})[-., ]*(?P<y>0000)",
    r"(?P<name>[A-Z]{3,10})[. ]+(?P<d>00?),? +(?P<y>0000)",
    r"(?P<y>0000)-?W(?P<w>00)-?(?P<wd>0)",
    r"(?P<y>0000)-?(?P<doy>000)",
)
_TIMES = (
    r"(?P<H>00?):(?P<M>00)(?::(?P<S>00)(?:[.,:](?P<f>0*))?)?",
    r"(?P<M>00?):(?P<S>00)[.,](?P<f>0+)",
    r"(?P<H>00)(?P<M>00)(?P<S>00)(?:[.,](?P<f>0*))?",
    r"(?P<H>00?)H(?P<M>00)M(?P<S>00)(?:[.,](?P<f>0*))?S?",
)
_AM_PM = r"(?: ?(?P<ap>[AP])\.?M\.?)?"
_ZONE = r"(?: ?(?:(?P<z>Z|UTC|GMT)|(?:UTC|GMT)?(?P<zs>[-+])(?P<zh>00?):?(?P<zm>00)?))?"
_BETWEEN = r"(?:T|,? +| ?- ?|_)"
# Compiled when first tried, most of them never are.
_PATTERNS = (
    *(f" *{date}{_BETWEEN}{time}{_AM_PM}{_ZONE} *" for date in _DATES for time in _TIMES),
    *(f" *{time}{_AM_PM}{_ZONE} *" for time in _TIMES),
    *(f" *{date} *" for date in _DATES),
)
_MAX_LAYOUTS = 200
_LONGEST_TEXT = 80
_MAX_DAYS = 106_000


@dataclass(eq=False)
class Stamps:
    """
    Stamps as read.

    Attributes
    ----------
    value_ns : ndarray, shape (n,)
        Since 1970 where there is a date, else since midnight; in UTC where a zone is given,
        as written where not; `NO_TIME` where the text is no time. [ns]
    has_date, has_time : bool
        What the texts hold.
    zone : str
        ``"utc"``, ``"offset"`` or ``""``.
    in_leap_second : ndarray of bool, shape (n,)
        Stamps whose second is written as 60.
    order : str
        ``"day first"`` or ``"month first"`` where that had to be assumed, else empty.
    """

    value_ns: Ints
    has_date: bool
    has_time: bool
    zone: str
    in_leap_second: Bools
    order: str = ""


def cells_from_texts(texts: list[str]) -> Cells:
    """Put texts into a matrix of bytes, one row each, padded; one too long for a time is blank."""
    raw = [text.strip().encode("ascii", "replace") for text in texts]
    # Else a single one would make a matrix as wide as the file.
    raw = [text if len(text) <= _LONGEST_TEXT else b"" for text in raw]
    width = max(map(len, raw), default=1) or 1
    joined = b"".join(item.ljust(width) for item in raw)
    return np.frombuffer(joined, np.uint8).reshape(len(raw), width)


def layout_of(row: Cells) -> str:
    """
    Replace the digits by zeros; letters become capitals.

    >>> layout_of(np.frombuffer(b"7:05 pm", np.uint8))
    '0:00 PM'
    """
    text = row.tobytes().decode("latin-1").rstrip().upper()
    return re.sub(r"[0-9]", "0", text)


def parse(cells: Cells, month_first: bool | None = None) -> Stamps | None:
    """
    Read stamps.

    Parameters
    ----------
    cells : ndarray of uint8, shape (n, width)
        One text a row, padded with spaces.
    month_first : bool, optional
        The order of dates like ``03/04/24``; found out where it shows.

    Returns
    -------
    Stamps or None
        None where the rows are no dates or times.
    """
    count = len(cells)
    out = Stamps(np.full(count, NO_TIME, np.int64), False, False, "", np.zeros(count, np.bool_))
    upper = np.where((cells >= 97) & (cells <= 122), cells - 32, cells)
    shape = np.where((cells >= 48) & (cells <= 57), np.uint8(48), upper)
    todo = np.flatnonzero((cells != 32).any(axis=1))
    plans: list[tuple[npt.NDArray[np.intp] | slice, re.Match[str]]] = []
    for _ in range(_MAX_LAYOUTS):
        if len(todo) == 0:
            break
        same = (shape[todo] == shape[todo[0]]).all(axis=1)
        match = _match(layout_of(cells[todo[0]]))
        if match is not None:
            plans.append((slice(None) if same.all() and len(todo) == count else todo[same], match))
        todo = todo[~same]
    if not plans:
        return None
    dated = sum("y" in match.groupdict() for _, match in plans)
    out.has_date = dated * 2 > len(plans)
    plans = [p for p in plans if (p[1].groupdict().get("y") is not None) == out.has_date]
    month_first, out.order = _day_or_month(cells, plans, month_first)
    for rows, match in plans:
        _read(out, cells[rows], rows, match, month_first)
    return out


def _match(layout: str) -> re.Match[str] | None:
    """Find the pattern that reads a layout."""
    for pattern in _PATTERNS:
        match = re.fullmatch(pattern, layout)
        if match is None:
            continue
        name = match.groupdict().get("name")
        if name is None or name in _MONTHS:
            return match
    return None


def _digits(cells: Cells, match: re.Match[str], group: str) -> Ints:
    """Read the whole number that a group of the layout spans; 0 where it is not there."""
    total = np.zeros(len(cells), np.int64)
    if match.groupdict().get(group) is None:
        return total
    start, end = match.span(group)
    for column in range(start, end):
        total *= 10
        total += cells[:, column]
        total -= 48
    return total


def _day_or_month(
    cells: Cells,
    plans: list[tuple[npt.NDArray[np.intp] | slice, re.Match[str]]],
    month_first: bool | None,
) -> tuple[bool, str]:
    """Decide what comes first in dates such as 03/04/2024."""
    first, second, us_clock, slashes = [], [], False, False
    for rows, match in plans:
        found = match.groupdict()
        if found.get("a") is not None:
            first.append(_digits(cells[rows], match, "a"))
            second.append(_digits(cells[rows], match, "b"))
            slashes |= found["sep"] == "/"
            us_clock |= found.get("ap") is not None
    if month_first is not None or not first:
        return bool(month_first), ""
    a, b = np.concatenate(first), np.concatenate(second)
    if a.max() > 12:
        return False, ""
    if b.max() > 12 or (np.ptp(b) > 0 and np.ptp(a) == 0):
        return True, ""
    if np.ptp(a) > 0 or not slashes:
        return False, ""
    return (True, "month first") if us_clock else (False, "day first")


def _read(
    out: Stamps,
    cells: Cells,
    rows: npt.NDArray[np.intp] | slice,
    match: re.Match[str],
    month_first: bool,
) -> None:
    """Read the rows of one layout into `out`."""
    found = match.groupdict()
    hour, minute = _digits(cells, match, "H"), _digits(cells, match, "M")
    second, ok = _digits(cells, match, "S"), np.ones(len(cells), np.bool_)
    ns = np.zeros(len(cells), np.int64)
    leap = np.zeros(len(cells), np.bool_)
    if found.get("M") is not None:
        out.has_time = True
        if found.get("ap") is not None:
            hour = hour % 12 + np.where((cells[:, match.start("ap")] | 32) == ord("p"), 12, 0)
        leap = second == 60
        ok &= (minute < 60) & (second <= 60) & (hour <= 24)
        ok &= (hour < 24) | ((minute == 0) & (second == 0))
        ns = ((hour * 60 + minute) * 60 + second) * NANO + _fraction_ns(cells, match)
    if found.get("y") is not None:
        days, good = _days(cells, match, month_first)
        # Beyond 290 years from 1970 the nanoseconds do not fit, and would come out as another date.
        good = good & (np.abs(days) < _MAX_DAYS)
        ns, ok = ns + np.where(good, days, 0) * DAY_NS, ok & good
    if found.get("zs") is not None:
        out.zone = "offset"
        ahead_min = _digits(cells, match, "zh") * 60 + _digits(cells, match, "zm")
        sign = np.where(cells[:, match.start("zs")] == ord("-"), -1, 1)
        ns = ns - sign * ahead_min * 60 * NANO
    elif found.get("z") is not None:
        out.zone = out.zone or "utc"
    if leap.any():
        # 23:59:60 is only valid right before an instant in the leap second table.
        second_ns = ns - ns % NANO
        known = np.isin(second_ns, leap_table()[0]) if out.has_date else np.ones_like(ok)
        ok &= ~leap | known
    out.value_ns[rows] = np.where(ok, ns, NO_TIME)
    out.in_leap_second[rows] = leap & ok


def _fraction_ns(cells: Cells, match: re.Match[str]) -> Ints:
    """Digits after the decimal sign; below a nanosecond they are cut."""
    total = np.zeros(len(cells), np.int64)
    if not match.groupdict().get("f"):
        return total
    start, end = match.span("f")
    end = min(end, start + 9)
    for column in range(start, end):
        total = total * 10 + cells[:, column] - 48
    return np.asarray(total * 10 ** (9 - (end - start)), np.int64)


def _days(cells: Cells, match: re.Match[str], month_first: bool) -> tuple[Ints, Bools]:
    """Days since 1970 and whether the date exists."""
    found = match.groupdict()
    year = _digits(cells, match, "y")
    if len(found["y"]) == 2:
        # POSIX: 69-99 are 1969-1999, 00-68 are 2000-2068.
        year = year + np.where(year >= 69, 1900, 2000)
    if found.get("w") is not None:
        week, weekday = _digits(cells, match, "w"), _digits(cells, match, "wd")
        fourth, ok = days_from_civil(year, np.full_like(year, 1), np.full_like(year, 4))
        monday = fourth - (fourth + 3) % 7
        ok = ok & (week >= 1) & (week <= 53) & (weekday >= 1) & (weekday <= 7)
        return monday + (week - 1) * 7 + weekday - 1, ok
    if found.get("doy") is not None:
        start, ok = days_from_civil(year, np.full_like(year, 1), np.full_like(year, 1))
        day = _digits(cells, match, "doy")
        leap_year = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
        return start + day - 1, ok & (day >= 1) & (day <= 365 + leap_year)
    if found.get("a") is not None:
        a, b = _digits(cells, match, "a"), _digits(cells, match, "b")
        return days_from_civil(year, *((a, b) if month_first else (b, a)))
    day = _digits(cells, match, "d")
    if found.get("name") is not None:
        month = np.full_like(year, _MONTHS[found["name"]])
    else:
        month = _digits(cells, match, "m")
    return days_from_civil(year, month, day)


def days_from_civil(year: Ints, month: Ints, day: Ints) -> tuple[Ints, Bools]:
    """
    Days since 1970-01-01 of Gregorian dates, and whether each date exists.

    Parameters
    ----------
    year, month, day : ndarray of int64, shape (n,)

    Returns
    -------
    days, exists : ndarray, shape (n,)
    """
    exists = (month >= 1) & (month <= 12) & (day >= 1) & (year >= 1)
    if len(year) and (year == year[0]).all() and (month == month[0]).all():
        year, month, single = year[:1], month[:1], True
    else:
        single = False
    month = np.clip(month, 1, 12)
    first = ((year - 1970) * 12 + month - 1).astype("datetime64[M]")
    start = first.astype("datetime64[D]").astype(np.int64)
    following = first + np.timedelta64(1, "M")
    length = following.astype("datetime64[D]").astype(np.int64) - start
    if single:
        start, length = np.broadcast_to(start, day.shape), np.broadcast_to(length, day.shape)
    return start + day - 1, exists & (day <= length)
