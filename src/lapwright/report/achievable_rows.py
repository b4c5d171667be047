"""What the driver's own laps add up to, corner by corner, as it is read."""

from dataclasses import dataclass

from lapwright.columns import records
from lapwright.plots.drawing.display_units import speed_in
from lapwright.report.headline import corner_name
from lapwright.report.numbers import plain, with_sd
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.heads import PAGE, PLUS_MINUS_SIGN, described, heads

# What a single run had; all else holds what laps differ by, which is never written as ±.
_MEASURED = "best_"


@dataclass(frozen=True)
class AchievableRow:
    """One corner: its number and name, the other cells, whether the gap is more than scatter."""

    corner: int
    name: str
    cells: tuple[str, ...]
    clear: bool


def achievable_heads(units: Units) -> list[str]:
    """Heads of the table, that of the corner first."""
    return heads(PAGE, "achievable", units)


def achievable_rows(material: ReportData, units: Units) -> list[AchievableRow]:
    """
    Write the table, a row a corner.

    Parameters
    ----------
    material : ReportData
    units : Units

    Returns
    -------
    list of AchievableRow
        None where there is nothing to say.
    """
    if material.achievable is None:
        return []
    columns, out = described("achievable"), []
    for row in records(material.achievable.corners):
        cells = []
        for name in list(PAGE["achievable"])[1:]:
            column = columns[name]
            value, sd = row[name], row[column.sd] if column.sd else None
            if column.unit == "m/s":
                value = float(speed_in(value, units.speed))
                sd = None if sd is None else float(speed_in(sd, units.speed))
            cells.append(_cell(name, value, sd, column.decimals))
        number = int(row["corner"])
        clear = not row["only_scatter"]
        out.append(AchievableRow(number, corner_name(material, number), tuple(cells), clear))
    return out


def _cell(name: str, value: float, sd: float | None, digits: int) -> str:
    """Write a figure: what was measured with its ±, what holds the laps' scatter with its sd."""
    if sd is None:
        return plain(value, digits)
    text = with_sd(value, sd, digits)
    if name.startswith(_MEASURED) or PLUS_MINUS_SIGN not in text:
        return text
    value_text, _, bar = text.partition(f" {PLUS_MINUS_SIGN} ")
    return f"{value_text} (sd {bar})"
