"""What the driver's own laps add up to, on paper: sentences, the speed along the lap, the table."""

from textwrap import wrap

from lapwright import plots
from lapwright.report.achievable_rows import achievable_heads, achievable_rows
from lapwright.report.pdf.sheet import SMALLEST_PT, Sheet
from lapwright.report.pdf.text_layout import POINTS, wrapped
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.coaching.achievable import CALCULATED, HEADING, TABLE

_HEAD_LETTERS = 11
_NAME_IN = 1.2
_ROW_IN = 1.5 * SMALLEST_PT / POINTS
# The sheet is not wide enough for all columns: times and what they are made of, then speeds.
_TIMES = 9


def draw_adds_up(sheet: Sheet, material: ReportData, units: Units) -> None:
    """
    Put it on the sheet, where there is anything to say.

    Parameters
    ----------
    sheet : Sheet
    material : ReportData
    units : Units
    """
    if material.achievable is None:
        return
    sheet.heading(HEADING, follow_in=1.2)
    sheet.points(list(material.adds_up))
    sheet.text(CALCULATED, quiet=True)
    sheet.space(0.1)
    sheet.room(3.0)
    ax = plots.achievable(material.achievable, sheet.axes(2.6), material.corners, units)
    ax.set_title("", loc="left")
    sheet.text("Band: 95 % interval of the calculated speed.", SMALLEST_PT, quiet=True)
    rows, named = achievable_rows(material, units), achievable_heads(units)
    head = [wrap(text, _HEAD_LETTERS) for text in named]
    for first, last in ((1, _TIMES), (_TIMES, len(named))):
        columns = [0, *range(first, last)]
        cells = [
            [wrapped(row.name, SMALLEST_PT, _NAME_IN)[0], *row.cells[first - 1 : last - 1]]
            for row in rows
        ]
        sheet.space(0.06)
        sheet.room(0.6 + min(_ROW_IN * len(rows), 9.0))
        sheet.table([head[i] for i in columns], cells, set())
    sheet.text(TABLE, SMALLEST_PT, quiet=True)
