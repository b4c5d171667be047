"""The report on paper: the same material as the page, drawn with the library's own figures."""

from collections.abc import Sequence
from pathlib import Path

from lapwright import plots
from lapwright.analysis import Session
from lapwright.analysis.notes import LogNotes
from lapwright.outputs import check_targets, whole_file
from lapwright.plots.style import SHEET
from lapwright.report.cards import Card, corner_cards
from lapwright.report.cautions import CAUTIONS, OTHER_CAVEAT
from lapwright.report.facts import about, lines_text, noted
from lapwright.report.grip_chart import grip_rows
from lapwright.report.headline import five_lines, how_sure
from lapwright.report.lap_rows import lap_rows
from lapwright.report.material import Material, gather
from lapwright.report.numbers import with_sd
from lapwright.report.sheet import Sheet
from lapwright.units import Units

# A row of the table of passes. [in]
_ROW_IN = 0.12


def write_pdf(
    session: Session,
    path: str | Path,
    reference: int | tuple[Session, int | None] | None = None,
    notes: LogNotes | None = None,
    came_of_it: Sequence[str] = (),
    units: Units | str = "km/h",
) -> Path:
    """
    Write the coach's report of a session as a PDF in A4.

    Parameters
    ----------
    session : Session
    path : str or Path
        Written whole, or not at all.
    reference, notes, came_of_it, units
        As for `lapwright.report.write_html`.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    OutputError
        If it cannot be written, or is the log itself.
    """
    check_targets([Path(path)], [session.log.path])
    material = gather(session, reference, notes, came_of_it)
    return draw_pdf(material, Path(path), Units.parse(str(units)))


def draw_pdf(material: Material, target: Path, units: Units) -> Path:
    """
    Draw the PDF of what was gathered.

    Parameters
    ----------
    material : Material
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

    title = f"Debrief of {material.log.path.name}"
    facts = {"Title": title, "CreationDate": None}
    with (
        whole_file(target) as part,
        plt.style.context(SHEET),
        PdfPages(part, metadata=facts) as pages,
    ):
        sheet = Sheet(pages, f"{title}. Not official timing; for closed circuits only.")
        _fill(sheet, material, units)
        sheet.finish()
    return target


def _fill(sheet: Sheet, material: Material, units: Units) -> None:
    _summary(sheet, material, units)
    _laps(sheet, material, units)
    if material.best is not None:
        _along(sheet, material, units)
        for card in corner_cards(material, units):
            _corner(sheet, material, card, units)
        _grip(sheet, material)
    _end(sheet, material, units)


def _summary(sheet: Sheet, material: Material, units: Units) -> None:
    sheet.text(material.track.name or "Unnamed circuit", 20.0, bold=True)
    sheet.text("   ".join(about(material)), quiet=True)
    for label, text in noted(material.notes):
        sheet.text(f"{label}: {text}")
    sheet.heading("The session in five lines")
    for number, line in enumerate(five_lines(material, units), start=1):
        sheet.text(f"{number}.  {line}")
        sheet.space(0.03)
    if material.came_of_it:
        sheet.heading("What came of the last try")
        sheet.points(list(material.came_of_it))
    sheet.heading("Worth trying")
    for item in material.worth_trying:
        sheet.text(item.text, 10.5)
        stake = with_sd(item.time_at_stake_s, item.time_at_stake_sd_s)
        sheet.text(f"At stake: {stake} s a lap. {item.evidence}", quiet=True)
        sheet.space(0.08)
    if material.remark:
        sheet.text(material.remark)


def _laps(sheet: Sheet, material: Material, units: Units) -> None:
    sheet.heading("Laps", follow_in=2.7)
    if (material.laps["kind"] == "timed").any():
        plots.lap_times(material.laps, sheet.axes(2.6), material.best).set_title("", loc="left")
    sectors = [f"sector {n + 1} [s]" for n in range(1 + len(material.track.sectors))]
    head = ["lap", "kind", "time", "to the best [s]", *sectors, f"top [{units.speed}]", "remarks"]
    rows = lap_rows(material, units)
    cells = [[str(r.lap), r.kind, r.time, r.gap, *r.sectors, r.top, r.remarks] for r in rows]
    bold = {k for k, r in enumerate(rows) if r.role == "best"}
    widths = [0.5, 0.8, 1.7, 1.6, *(1.5 for _ in sectors), 0.9, 1.6]
    sheet.table(head, cells, 6.8, bold, widths)
    sheet.text("± is one standard deviation. Equal: within two sd of the best.", 7.5, quiet=True)


def _along(sheet: Sheet, material: Material, units: Units) -> None:
    assert material.best is not None
    sheet.heading("Along the lap", follow_in=2.9)
    best = material.traces[material.best]
    c = material.comparison
    if c is None:
        plots.speed([best], sheet.axes(3.0), material.corners, units)
        plots.speed_map(best, sheet.axes(3.6, 0.1, 0.9), material.corners, units)
    else:
        plots.delta(c, sheet.axes(2.4), material.corners, units)
        plots.speed([best, c.lap_trace], sheet.axes(2.9), material.corners, units)
        plots.time_lost_map(c, sheet.axes(4.2, 0.05, 1.0), material.corners, units)
        sheet.finish()
        rows = int((c.ledger["end_m"] > c.ledger["start_m"]).sum())
        plots.ledger(c, sheet.axes(min(1.0 + 0.17 * rows, 9.8), 0.08))
    if material.other is not None:
        sheet.heading(f"Against {material.other_name}", follow_in=2.6)
        sheet.text(OTHER_CAVEAT, quiet=True)
        plots.delta(material.other, sheet.axes(2.5), material.corners, units)


def _corner(sheet: Sheet, material: Material, card: Card, units: Units) -> None:
    rows = [*card.rows, *card.summary]
    sheet.room(min(3.15 + _ROW_IN * len(rows), 9.5))
    sheet.text(card.title, 13.0, bold=True)
    sheet.text(card.facts, quiet=True)
    for line in card.says[:1]:
        sheet.text(line)
    sheet.space(0.05)
    traces = [material.traces[int(n)] for n in material.clean["lap"]]
    corner = material.corners[material.corners["corner"] == card.number]
    left = sheet.axes(1.95, 0.0, 0.5, last=False)
    plots.corner_speeds(traces, corner, [left], material.best, units)[0].set_title("", loc="left")
    shown = [n for n in (material.best, material.usual) if n is not None]
    right = plots.lines(
        [material.traces[n] for n in shown], corner, card.number, sheet.axes(1.95, 0.5, 1.0), units
    )
    right.set_title("", loc="left")
    head = ["lap", *(f"{k.head} [{k.unit}]" for k in card.columns)]
    bold = {k for k, r in enumerate(rows) if r.role == "best"}
    sheet.table(head, [[r.lead, *r.cells] for r in rows], 6.2, bold)
    sheet.space(0.2)


def _grip(sheet: Sheet, material: Material) -> None:
    sheet.heading("Grip used", follow_in=4.4)
    traces = [material.traces[int(n)] for n in material.clean["lap"]]
    if traces:
        ax = plots.grip(traces, sheet.axes(4.0, 0.15, 0.85), material.grip.envelope)
        ax.set_title("", loc="left")
    rows = [[name, *cells] for _, name, cells in grip_rows(material)]
    head = ["corner", "braking", "mid-corner", "exit"]
    sheet.table(head, rows, 7.0, set(), [2.0, 1.0, 1.0, 1.0])
    sheet.text(material.grip.caveat, quiet=True)


def _end(sheet: Sheet, material: Material, units: Units) -> None:
    sheet.heading("What was odd in the log")
    findings = [
        f.message + (f" ({lines_text(f.lines)})" if f.lines else "") for f in material.log.findings
    ]
    sheet.points(findings or ["Nothing: the log is clean."])
    sheet.heading("How sure the numbers are")
    sheet.points(how_sure(material, units))
    sheet.heading("Cautions")
    sheet.points(list(CAUTIONS))
