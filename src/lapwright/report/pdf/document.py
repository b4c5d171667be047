"""The report on paper: the same material as the page, drawn with the library's own figures."""

from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from lapwright import plots
from lapwright.arguments import checked
from lapwright.escaping.unseen import visible
from lapwright.laps.comparison import Comparison
from lapwright.laps.stretches import STRETCHES
from lapwright.notes.weekend_notes import LogNotes
from lapwright.outputs import check_targets, whole_file
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import SHEET
from lapwright.report.cards import corner_cards
from lapwright.report.charts import ledger_rows
from lapwright.report.facts import about, noted
from lapwright.report.grip_chart import grip_rows
from lapwright.report.headline import (
    corner_sums,
    five_lines,
    how_sure,
    only_between_two,
    worth,
)
from lapwright.report.lap_rows import any_equal, lap_heads, lap_rows
from lapwright.report.numbers import with_sd
from lapwright.report.other_words import other_words
from lapwright.report.pdf.corner_sheet import draw_card
from lapwright.report.pdf.sheet import INNER_IN, LEAD, SMALLEST_PT, Sheet, fit_in
from lapwright.report.pdf.text_layout import POINTS, wrapped
from lapwright.report.report_data import ReportData, gather
from lapwright.session import Session
from lapwright.units import Units, is_equal
from lapwright.wording.car import HEADING as CAR_HEADING
from lapwright.wording.car import NO_DIAGNOSIS
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP, CAUTIONS, GRIP, NOT_OFFICIAL
from lapwright.wording.coaching.still_known import HEADING
from lapwright.wording.findings import finding_text
from lapwright.wording.heads import PAGE, heads
from lapwright.wording.terms import PLUS_MINUS, UNNAMED, sentence

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Parts a value from its error bar in a cell.
_BAR = " \N{PLUS-MINUS SIGN} "
# Of the lap table: height of a row, width of the remarks.
_LAP_ROW_IN, _REMARKS_IN, _SHORT_REMARKS_IN = 1.5 * SMALLEST_PT / POINTS, 1.3, 0.7
# Of the table of where the time goes: height of a row, width of its bars.
# Of a line of a head of the lap table.
_HEAD_LETTERS = 9
_LEDGER_ROW_IN, _BARS_IN = 0.2, 1.5
_HEADING_IN = 0.5


@checked
def write_pdf(
    session: Session,
    path: str | Path,
    reference: int | tuple[Session, int | None] | None = None,
    notes: LogNotes | None = None,
    came_of_it: Sequence[str] = (),
    units: Units | str = "km/h",
    before: str = "",
) -> Path:
    """
    Write the coach's report of a session as a PDF in A4.

    Parameters
    ----------
    session : Session
    path : str or Path
        Written whole, or not at all.
    reference, notes, came_of_it, units, before
        As for `lapwright.report.write_html`.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    OutputError
        If it cannot be written, or is the log itself.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
    >>> with TemporaryDirectory() as folder:
    ...     lw.report.write_pdf(session, Path(folder, "qualifying.pdf")).name
    'qualifying.pdf'
    """
    check_targets([Path(path)], [session.log.path])
    shown = Units.parse(str(units))
    material = gather(session, reference, notes, came_of_it, before, shown)
    return draw_pdf(material, Path(path), shown)


def draw_pdf(material: ReportData, target: Path, units: Units) -> Path:
    """
    Draw the PDF of what was gathered.

    Parameters
    ----------
    material : ReportData
    target : Path
        Written whole, or not at all.
    units : Units

    Returns
    -------
    Path
        The file.
    """
    import matplotlib.pyplot as plt
    from matplotlib.backends.backend_pdf import PdfPages

    title = f"Coach's report of {material.log.path.name}"
    facts = {"Title": visible(title), "CreationDate": None}
    with (
        whole_file(target) as part,
        plt.style.context(SHEET),
        PdfPages(part, metadata=facts) as pages,
    ):
        sheet = Sheet(pages, f"{title}. {NOT_OFFICIAL}")
        fill(sheet, material, units)
        sheet.finish()
    return target


def fill(sheet: Sheet, material: ReportData, units: Units) -> None:
    """Put the whole report on sheets."""
    _summary(sheet, material, units)
    if material.comparison is not None:
        _ledger(sheet, material, material.comparison)
    _laps(sheet, material, units)
    if material.best is not None:
        _along(sheet, material, units)
        _grip(sheet, material)
        for card in corner_cards(material, units, pictures=False):
            draw_card(sheet, material, card, units)
        sheet.finish()
    _end(sheet, material, units)


def _summary(sheet: Sheet, material: ReportData, units: Units) -> None:
    sheet.text("Coach's report", 11.0, quiet=True)
    sheet.text(material.track.name or UNNAMED, 20.0, bold=True)
    sheet.text(" \N{MIDDLE DOT} ".join(about(material)), quiet=True)
    for label, text in noted(material.notes):
        sheet.text(f"{label}: {text}")
    sheet.heading("The session in five points")
    for number, line in enumerate(five_lines(material, units), start=1):
        sheet.write(f"{number}.", 0.0, 0.0, 9.5)
        sheet.text(line, indent_in=0.25)
        sheet.space(0.03)
    _car(sheet, material)
    if material.came_of_it:
        sheet.heading("What came of what you tried")
        if material.before:
            sheet.text(f"Compared with {material.before}.", quiet=True)
        sheet.points(list(material.came_of_it))
    sheet.heading("Worth trying")
    for item in material.worth_trying:
        sheet.text(item.text, 10.5, bold=True)
        sheet.text(f"{worth(item)} {item.evidence}", quiet=True)
        sheet.space(0.08)
    if material.worth_trying:
        sheet.text(BUILD_UP, quiet=True)
        sheet.space(0.08)
    for text in (material.remark, only_between_two(material)[0]):
        if text:
            sheet.text(text)
            sheet.space(0.04)
    if material.still_known:
        sheet.text(HEADING, 10.5, bold=True)
        sheet.points(list(material.still_known))
        sheet.text(AS_DRIVEN, quiet=True)


def _car(sheet: Sheet, material: ReportData) -> None:
    if not material.car_lines:
        return
    sheet.heading(CAR_HEADING)
    sheet.points(list(material.car_lines))
    if len(material.car_warnings):
        sheet.text(NO_DIAGNOSIS, quiet=True)


def _laps(sheet: Sheet, material: ReportData, units: Units) -> None:
    sheet.heading("Laps", follow_in=2.7)
    if (material.laps["kind"] == "timed").any():
        plots.lap_times(material.laps, sheet.axes(2.5), material.best).set_title("", loc="left")
    head = [wrap(text, _HEAD_LETTERS) for text in lap_heads(material, units)]
    rows, bold = _lap_table(head, material, units)
    words = {0, 1, len(head) - 1}
    sheet.room(0.7 + min(_LAP_ROW_IN * len(rows), 9.0))
    sheet.table(head, rows, bold, words=words)
    sheet.space(0.04)
    said = PLUS_MINUS
    if any_equal(material):
        said += " Equal: within twice the \N{PLUS-MINUS SIGN} of the best."
    sheet.text(said, SMALLEST_PT, quiet=True)


def _lap_table(
    head: list[list[str]], material: ReportData, units: Units
) -> tuple[list[list[str]], set[int]]:
    """
    Rows of the lap table, and which are the best lap's.

    Every sector time has its error bar, as on the page: beside it where the sheet is wide enough,
    or with shorter lines of remarks; else below it.
    """
    for remarks_in in (_REMARKS_IN, _SHORT_REMARKS_IN):
        rows, bold = _lap_cells(material, units, remarks_in)
        if fit_in(head, rows, bold, SMALLEST_PT, INNER_IN):
            return rows, bold
    return _lap_cells(material, units, _REMARKS_IN, bars_below=True)


def _lap_cells(
    material: ReportData, units: Units, remarks_in: float, *, bars_below: bool = False
) -> tuple[list[list[str]], set[int]]:
    """Rows of the lap table; what is long, or an error bar, goes on below."""
    cells: list[list[str]] = []
    bold = set()
    for r in lap_rows(material, units):
        sectors, bars = list(r.sectors), [""] * len(r.sectors)
        if bars_below:
            bars = [text[len(text.partition(_BAR)[0]) :].strip() for text in r.sectors]
            sectors = [text.partition(_BAR)[0] for text in r.sectors]
        remarks = wrapped(r.remarks, SMALLEST_PT, remarks_in)
        if r.role == "best":
            bold.add(len(cells))
        cells.append([str(r.lap), r.kind, r.time, r.gap, *sectors, r.top, remarks[0]])
        more = remarks[1:] or [""] * any(bars)
        below = [bars, *([""] * len(bars) for _ in more)]
        cells += [["", "", "", "", *below[k], "", text] for k, text in enumerate(more)]
    return cells, bold


def _along(sheet: Sheet, material: ReportData, units: Units) -> None:
    assert material.best is not None
    best = material.traces[material.best]
    c = material.comparison
    sheet.heading("Along the lap", follow_in=3.4)
    if c is None:
        plots.speed_map(best, sheet.axes(3.4, 0.02, 0.98), material.corners, units)
        plots.speed([best], sheet.axes(3.0), material.corners, units)
    else:
        plots.time_lost_map(c, sheet.axes(3.4, 0.02, 0.98), material.corners, units)
        plots.delta(c, sheet.axes(2.2), material.corners, units)
        plots.speed([best, c.lap_trace], sheet.axes(2.6), material.corners, units)
    if material.other is not None:
        sheet.heading(f"Against {material.other_name}", follow_in=2.9)
        sheet.text(other_words(material), quiet=True)
        plots.delta(material.other, sheet.axes(2.5), material.corners, units)


def _ledger(sheet: Sheet, material: ReportData, c: Comparison) -> None:
    """Where the usual lap lost time: a row a corner, with a bar."""
    rows, _ = ledger_rows(material)
    height = _LEDGER_ROW_IN * len(rows)
    sheet.heading("Where the time goes", follow_in=0.8 + height)
    total = with_sd(c.time_difference_s, c.time_difference_sd_s)
    sheet.text(
        f"Lap {c.lap}, {material.usual_is}, was {total} s slower than lap {c.reference}. Corner by "
        "corner, with the straight that follows; + is time lost. All in s."
    )
    sheet.space(0.06)
    cells = [[r.name, r.total.text, *(cell.text for cell in r.cells)] for r in rows]
    head = [[text] for text in (*heads(PAGE, "ledger", Units()), *STRETCHES)]
    cells = [[wrapped(row[0], SMALLEST_PT, 1.1)[0], *row[1:]] for row in cells]
    lead = _LEDGER_ROW_IN * POINTS / SMALLEST_PT
    end = sheet.table(head, cells, set(), wide_in=INNER_IN - _BARS_IN, lead=lead) + 0.15
    # A letter stands in the upper part of its row, and the bars beside it.
    ax = sheet.box(end, -height - 0.04, INNER_IN - end, height)
    _bars(ax, sorted(corner_sums(material)))


def _grip(sheet: Sheet, material: ReportData) -> None:
    traces = [material.traces[int(n)] for n in material.clean["lap"]]
    if not traces:
        return
    height, said = 3.7, f"{GRIP} These shares have no error bar."
    sheet.heading("Grip used", follow_in=height)
    ax = plots.grip(traces, sheet.box(0.55, 0.1, 3.1, 3.1), material.grip.envelope)
    ax.set_title("", loc="left")
    top, beside_in, size = sheet.left_in, 4.1, SMALLEST_PT + 0.5
    rows = [[wrapped(name, SMALLEST_PT, 1.2)[0], *cells] for _, name, cells in grip_rows(material)]
    head = [["corner"], ["braking"], ["mid-corner"], ["exit"]]
    sheet.table(head, rows, set(), from_in=beside_in, lead=1.7)
    # Under the table where there is room beside the figure, else under both.
    lines = len(wrapped(said, size, INNER_IN - beside_in))
    if sheet.left_in - LEAD * size / POINTS * (lines + 1) > top - height:
        sheet.space(LEAD * size / POINTS)
        sheet.text(said, size, quiet=True, indent_in=beside_in)
        sheet.left_in = top - height
        return
    sheet.left_in = min(top - height, sheet.left_in)
    sheet.text(said, size, quiet=True)


def _end(sheet: Sheet, material: ReportData, units: Units) -> None:
    findings = [sentence(finding_text(f)) for f in material.log.findings]
    blocks = [
        ("What was odd in the log", findings or ["Nothing."]),
        ("How sure the numbers are", how_sure(material, units)),
        ("Cautions", list(CAUTIONS)),
    ]
    heights = [sheet.points_in(lines) + _HEADING_IN for _, lines in blocks]
    sheet.room(heights[0])
    split = sheet.left_in < sum(heights)
    for number, (name, lines) in enumerate(blocks):
        # Where not all fits, the last sheet holds more than the cautions.
        if split and number == 1:
            sheet.finish()
        sheet.heading(name)
        sheet.points(lines)


def _bars(ax: "Axes", sums: list[tuple[int, float, float]]) -> None:
    """Draw a bar a corner: filled where time was lost, hatched where gained, grey where equal."""
    for place, (_, value, sd) in enumerate(sums):
        colour = LIGHT.lost if value > 0.0 else LIGHT.gained
        filled = value > 0.0 and not is_equal(value, sd)
        ax.barh(
            place, value, height=0.6, edgecolor=LIGHT.other if is_equal(value, sd) else colour,
            color=colour if filled else LIGHT.panel, hatch="" if value > 0.0 else "//////",
        )  # fmt: skip
        ax.errorbar(value, place, xerr=sd, fmt="none", ecolor=LIGHT.ink, elinewidth=0.9, capsize=0)
    ax.axvline(0.0, color=LIGHT.axis, linewidth=0.8)
    ax.set_ylim(len(sums) - 0.5, -0.5)
    ax.set_axis_off()
