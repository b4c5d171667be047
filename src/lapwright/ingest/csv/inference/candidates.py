"""Which columns of numbers could be a time, a latitude or a longitude, each looked at alone."""

from dataclasses import dataclass, replace

import numpy as np

from lapwright.ingest.csv.header_words import TIME_UNITS, hinted_time_unit
from lapwright.ingest.csv.inference.drive_evidence import MAX_TOP_MPS, MIN_ROWS
from lapwright.ingest.csv.table import Column, Table
from lapwright.ingest.positions import angles
from lapwright.ingest.time.counts import clock_digits, numeric
from lapwright.ingest.time.scales import NANO, NO_TIME, Floats, Ints
from lapwright.ingest.time.timestamps import cells_from_texts, parse

# Where positions stand on some lines only, the lines themselves may come a hundred times as often.
_MIN_ROW_S, _MAX_ROW_S = 0.0005, 6.0
# A time rises on nearly every line, by nearly the same step; gaps and a coarse clock aside.
_MAX_BACK, _MAX_STANDING, _MIN_EVEN = 0.01, 0.5, 0.8
# Fewer decimals than these are steps of over 10 m.
_MIN_DECIMALS = 4
_METRES_PER_DEGREE = 111_320.0
_WHOLE_ANGLES = (("1e-7 deg", 1e-7), ("1e-6 deg", 1e-6))


@dataclass(frozen=True, eq=False)
class Angle:
    """A column as an angle: its unit, its values in degrees, and its role if letters tell that."""

    column: Column
    unit: str
    degrees: Floats
    lettered: str | None = None

    def can_be(self, role: str) -> bool:
        """Tell whether it can be the latitude, or the longitude."""
        if self.lettered is not None or role == "longitude":
            return self.lettered in (None, role)
        values = self.degrees[np.isfinite(self.degrees)]
        return bool(np.quantile(np.abs(values), 0.98) <= 90.0)

    def as_role(self, role: str) -> Column:
        """Return the column with this role and unit."""
        header = replace(self.column.header, role=role, unit=self.unit)
        return replace(self.column, header=header)


def time_candidates(table: Table, free: list[Column]) -> list[dict[str, Column]]:
    """
    List the columns that rise like a time, in every unit in which they can be one.

    Returns
    -------
    candidates : list of dict
        From role (``"time"``, perhaps ``"date"``) to a copy of the column with that role.
    """
    out: list[dict[str, Column]] = []
    stamps: list[Column] = []
    dates: list[Column] = []
    for column in free:
        if column.kind == "text":
            parsed = parse(cells_from_texts(column.sample)) if column.sample else None
            if parsed is not None and (parsed.value_ns != NO_TIME).mean() > 0.9:
                (stamps if parsed.has_time else dates).append(column)
        elif column.numbers is not None and rises_evenly(column.numbers):
            out.extend(_numeric(column))
    for column in stamps:
        roles = {"time": _as_time(column, None)}
        if len(dates) == 1 and "date" not in table.by_role:
            roles["date"] = replace(dates[0], header=replace(dates[0].header, role="date"))
        out.append(roles)
    return out


def _numeric(column: Column) -> list[dict[str, Column]]:
    """Read a rising column of numbers as a time, in every unit that gives a sensible rate."""
    assert column.numbers is not None
    bare = _as_time(column, None)
    clock = numeric(bare)
    if clock is not None and (clock.has_date or clock.scale == "time_of_day"):
        return [{"time": bare}]
    return unit_variants(bare, hinted_time_unit(column.header))


def unit_variants(column: Column | None, unit: str | None = None) -> list[dict[str, Column]]:
    """List the units in which a column gives a sensible rate; only `unit` if that is given."""
    if column is None or column.numbers is None or not rises_evenly(column.numbers):
        return []
    if column.header.unit in TIME_UNITS or clock_digits(column) is not None:
        return []
    steps = np.diff(column.numbers[np.isfinite(column.numbers)])
    step = float(np.median(steps[steps > 0]))
    return [
        {"time": _as_time(column, name)}
        for name in ((unit,) if unit else ("s", "ms", "us", "ns"))
        if _MIN_ROW_S <= step * TIME_UNITS[name] / NANO <= _MAX_ROW_S
    ]


def _as_time(column: Column, unit: str | None) -> Column:
    return replace(column, header=replace(column.header, role="time", unit=unit, sure=True))


def rises_evenly(numbers: Floats) -> bool:
    """Tell a column that rises like a clock; gaps and single steps back aside."""
    values = numbers[np.isfinite(numbers)]
    if len(values) < MIN_ROWS:
        return False
    steps = np.diff(values)
    rising = steps[steps > 0]
    if (steps < 0).mean() > _MAX_BACK or (steps == 0).mean() > _MAX_STANDING or not len(rising):
        return False
    usual = float(np.median(rising))
    return bool((np.abs(rising - usual) <= 0.5 * usual).mean() >= _MIN_EVEN)


def is_counter(column: Column) -> bool:
    """Tell a column of whole numbers of seconds that never leaves its step: perhaps a count."""
    if column.numbers is None or column.header.unit != "s" or column.decimals > 0:
        return False
    values = column.numbers[np.isfinite(column.numbers)]
    steps = np.diff(values)
    return bool((values == np.rint(values)).all() and (steps == np.median(steps)).mean() > 0.99)


def angle_candidates(table: Table, column: Column) -> list[Angle]:
    """
    Read a column as degrees, or as whole parts of them, where it can be either.

    Parameters
    ----------
    table : Table
    column : Column
        One of its columns.
    """
    if column.kind == "text":
        angle = _with_letters(table, column)
        return [] if angle is None else [angle]
    if column.numbers is None:
        return []
    values = column.numbers
    seen = values[np.isfinite(values) & (values != 0)]
    if len(seen) < MIN_ROWS:
        return []
    typical = float(np.median(np.abs(seen)))
    if column.decimals >= _MIN_DECIMALS and typical <= 180.0:
        scales: tuple[tuple[str, float], ...] = (("deg", 1.0),)
    elif column.decimals == 0 and 1e5 < typical <= 1.8e9:
        scales = _WHOLE_ANGLES
    else:
        return []
    read = (Angle(column, unit, values * size) for unit, size in scales)
    return [angle for angle in read if typical * _size(angle) <= 180.0]


def _with_letters(table: Table, column: Column) -> Angle | None:
    """Read a column of texts as angles whose letters say which: ``48.1173 N``."""
    for role, letters in (("latitude", "NSns"), ("longitude", "EWew")):
        if column.sample and all(
            cell[0] in letters or cell[-1] in letters for cell in column.sample
        ):
            cells = table.structure.cells(column.index)
            return Angle(column, "deg", angles(cells, column.decimal, True), role)
    return None


def _size(angle: Angle) -> float:
    return dict(_WHOLE_ANGLES).get(angle.unit, 1.0)


def is_slow(angle: Angle, time_ns: Ints) -> bool:
    """Tell whether an axis mostly moves no faster than a car, in metres of latitude."""
    used = np.isfinite(angle.degrees) & (time_ns != NO_TIME) & (angle.degrees != 0)
    if used.sum() < MIN_ROWS:
        return False
    time_s = time_ns[used] / NANO
    took_s = float(np.median(np.diff(time_s)))
    if took_s <= 0:
        return True
    k = max(1, min(round(1.0 / took_s), used.sum() // 4))
    moved_m = np.abs(angle.degrees[used][k:] - angle.degrees[used][:-k]) * _METRES_PER_DEGREE
    # At 80 degrees north a degree of longitude is a sixth of one of latitude.
    return bool(0 < np.quantile(moved_m, 0.9) <= 6.0 * MAX_TOP_MPS * took_s * k)
