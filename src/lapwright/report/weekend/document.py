"""The weekend on paper: the same material as the page, and a sheet for the next visit."""

from collections.abc import Iterable
from pathlib import Path

from lapwright import plots
from lapwright.corners.pass_table import corner_table
from lapwright.escaping.unseen import visible
from lapwright.laps.comparison import Comparison
from lapwright.outputs import whole_file
from lapwright.plots.drawing.style import SHEET
from lapwright.report.pdf.sheet import INNER_IN, SMALLEST_PT, Sheet
from lapwright.report.pdf.text_layout import wrapped
from lapwright.report.weekend.charts import corner_charts, lap_chart, shape_of
from lapwright.report.weekend.data import CircuitData, Field, WeekendData
from lapwright.report.weekend.drawn import COLOURS, FILLED, MARKERS, draw_chart, draw_plan
from lapwright.report.weekend.page import (
    CircuitShown,
    CornerShown,
    FieldShown,
    PairShown,
    shown_circuit,
)
from lapwright.report.weekend.return_card import ReturnCard
from lapwright.report.weekend.rows import corner_heads, session_heads
from lapwright.units import Units
from lapwright.wording.car import HEADING
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP, CAUTIONS, NOT_OFFICIAL, OTHER_CAR
from lapwright.wording.coaching.before_after import HEADING as CHANGES
from lapwright.wording.event import weekend as words
from lapwright.wording.event.folder import LEFT_OUT, NOT_USED
from lapwright.wording.terms import PLUS_MINUS

_LAPS_IN, _CORNER_IN, _DELTA_IN = 2.5, 1.35, 2.3
_ROW_IN = 0.17
# Room for a driver's own notes on the card.
_OWN_IN = 1.6


def write_document(material: WeekendData, target: Path, units: Units) -> Path:
    """
    Write the PDF, in A4.

    Parameters
    ----------
    material : WeekendData
    target : Path
        Written whole, or not at all.
    units : Units

    Returns
    -------
    Path
        The file.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    import matplotlib.pyplot as plt
    from matplotlib.backends.backend_pdf import PdfPages

    title = f"Weekend report of {material.folder.name}"
    facts = {"Title": visible(title), "CreationDate": None}
    with (
        whole_file(target) as part,
        plt.style.context(SHEET),
        PdfPages(part, metadata=facts) as pages,
    ):
        sheet = Sheet(pages, f"{title}. {NOT_OFFICIAL}")
        sheet.text(title, 18.0, bold=True)
        for number, circuit in enumerate(material.circuits, start=1):
            _circuit(sheet, circuit, shown_circuit(circuit, f"c{number}", units), units)
        _end(sheet, material)
        sheet.finish()
    return target


def _circuit(sheet: Sheet, circuit: CircuitData, shown: CircuitShown, units: Units) -> None:
    sheet.heading(f"{shown.name}: the weekend in short", follow_in=2.0)
    sheet.points(list(shown.points))
    for text in (*shown.remarks, PLUS_MINUS, NOT_OFFICIAL):
        sheet.text(text, SMALLEST_PT + 0.5, quiet=True)
    _sessions(sheet, shown)
    for part, field in zip(circuit.fields, shown.fields, strict=True):
        if field.name:
            sheet.heading(field.name, 15.0, follow_in=2.0)
        _begins(sheet, field)
        _laps(sheet, part)
        both = zip(
            (*part.side_by_side, *part.first_to_best), (*field.pairs, *field.own), strict=True
        )
        for one, pair in both:
            _pair(sheet, pair, one.comparison, units)
    _days(sheet, shown)
    for part, field in zip(circuit.fields, shown.fields, strict=True):
        _corners(sheet, part, field, units)
        for card in field.cards:
            _card(sheet, card, circuit)


def _sessions(sheet: Sheet, shown: CircuitShown) -> None:
    """Who, when and how many laps; then the times, which fill the width."""
    sheet.heading("Sessions", follow_in=1.5)
    rows = [
        [f"{r.number} {wrapped(r.name, SMALLEST_PT, 1.6)[0]}", *_short(r.about, 2.2), *r.cells]
        for r in shown.rows
    ]
    bold = {k for k, r in enumerate(shown.rows) if r.role == "best"}
    heads = session_heads()
    # Laps and clean laps come last on the page.
    about = [[text] for text in ("session", "driver", "began", *heads[-2:])]
    sheet.table(about, [[*row[:3], *row[-2:]] for row in rows], bold, words={0, 1, 2})
    sheet.space(0.1)
    times = [["session"], *(wrapped(text, SMALLEST_PT, 1.2) for text in heads[:-2])]
    sheet.table(times, [[row[0], *row[3:-2]] for row in rows], bold)
    sheet.text(words.MEDIAN_BARS, SMALLEST_PT + 0.5, quiet=True)


def _short(texts: Iterable[str], wide_in: float) -> list[str]:
    return [wrapped(text, SMALLEST_PT, wide_in)[0] for text in texts]


def _begins(sheet: Sheet, field: FieldShown) -> None:
    if not field.begins:
        return
    sheet.heading("Where to begin next time", follow_in=1.4)
    for one in field.begins:
        sheet.room(0.8)
        sheet.text(one.driver, 11.0, bold=True)
        for number, item in enumerate(one.items, start=1):
            sheet.text(f"{number}. {item.text}")
            sheet.text(item.worth, bold=True, indent_in=0.25)
            sheet.text(" ".join(item.evidence), SMALLEST_PT + 0.5, quiet=True, indent_in=0.25)
        for text in one.nothing:
            sheet.text(text)
        sheet.points(list(one.known), 9.0)
        sheet.space(0.06)
    for text in (BUILD_UP, AS_DRIVEN):
        sheet.text(text, SMALLEST_PT + 0.5, quiet=True)


def _laps(sheet: Sheet, part: Field) -> None:
    chart = lap_chart(part)
    if chart is None:
        return
    sheet.heading("Lap times over the sessions", follow_in=_LAPS_IN + 0.4)
    draw_chart(sheet.axes(_LAPS_IN), chart)
    _legend(sheet, part)
    ring = " Ring: best lap." if part.comparable else ""
    sheet.text(
        "Across: the session's number. Pale: lap set aside. Line and band: median with its "
        f"\N{PLUS-MINUS SIGN}.{ring} {chart.beyond}",
        SMALLEST_PT + 0.5, quiet=True,
    )  # fmt: skip


def _legend(sheet: Sheet, part: Field) -> None:
    """Say which sign is whose."""
    sheet.room(0.25)
    x_in = 0.1
    for name, sessions in part.drivers.items():
        shape = shape_of(part, sessions[0])
        ax = sheet.box(x_in, 0.02, 0.12, 0.12)
        ax.plot(
            [0.5], [0.5], marker=MARKERS[shape], markersize=5.0, color=COLOURS[shape],
            markerfacecolor=COLOURS[shape] if FILLED[shape] else "none", linestyle="none",
        )  # fmt: skip
        ax.set_axis_off()
        sheet.write(words.who(name), x_in + 0.2, 0.0, SMALLEST_PT + 0.5)
        x_in += 1.7
    sheet.space(0.2)


def _pair(sheet: Sheet, pair: PairShown, comparison: Comparison, units: Units) -> None:
    sheet.heading(pair.title, follow_in=2.0)
    sheet.text(f"{pair.total}. {OTHER_CAR}", quiet=True)
    sheet.points(list(pair.why), 9.0)
    plots.delta(comparison, sheet.axes(_DELTA_IN), corner_table(comparison.track), units)
    rows = [[r.name, r.total.text] for r in pair.ledger]
    sheet.room(_ROW_IN * (len(rows) + 3))
    sheet.text("Where the time goes, corner by corner with the straight that follows; + is lost.")
    sheet.space(0.05)
    sheet.table([["corner"], ["total [s]"]], rows, set())


def _days(sheet: Sheet, shown: CircuitShown) -> None:
    sheet.heading("Day after day: what was changed and tried, and what came of it", follow_in=1.0)
    if not shown.any_noted:
        sheet.text(words.NOTHING_NOTED)
    for day in shown.days:
        sheet.room(0.6)
        sheet.text(f"{day.number} {day.name}, {day.driver}", 11.0, bold=True)
        for label, text in day.noted:
            sheet.text(f"{label}: {text}", 9.0)
        if day.came:
            compared = f", compared with {day.before}" if day.before else ""
            sheet.text(f"What came of it{compared}:", 9.0, quiet=True)
            sheet.points(list(day.came), 9.0)
        for head, texts in (("The race", day.race), (HEADING, day.car)):
            if texts:
                sheet.text(f"{head}:", 9.0, quiet=True)
                sheet.points(list(texts), 9.0)
        sheet.space(0.08)


def _corners(sheet: Sheet, part: Field, field: FieldShown, units: Units) -> None:
    if not field.corners:
        return
    sheet.heading("Corner by corner over the sessions", follow_in=2.5)
    changes = f" {words.CHANGE} {field.by_chance}" if field.by_chance else ""
    sheet.text(words.TYPICAL + changes, SMALLEST_PT + 0.5, quiet=True)
    _legend(sheet, part)
    for one in field.corners:
        _corner(sheet, part, one, units)


def _corner(sheet: Sheet, part: Field, one: CornerShown, units: Units) -> None:
    tall = _CORNER_IN + _ROW_IN * (len(one.rows) + 3) + 0.5
    sheet.room(tall)
    sheet.heading(one.title, 11.5, follow_in=tall - 0.5)
    if one.charts:
        number = int(one.anchor.rsplit("-", 1)[1])
        top = sheet.left_in
        for k, chart in enumerate(corner_charts(part, number, one.title, units)):
            sheet.left_in = top
            draw_chart(sheet.axes(_CORNER_IN, k / 3.0, (k + 1) / 3.0), chart)
        sheet.left_in = top - _CORNER_IN
    heads = [["session"], ["driver"]]
    for text in corner_heads(units):
        heads += [[*wrapped(text, SMALLEST_PT, 0.9), "mean"], ["best lap"]]
    rows = [
        [
            f"{row.number} {wrapped(row.lead, SMALLEST_PT, 1.2)[0]}",
            *_short([row.driver], 1.0),
            *(text for text, _ in row.cells),
        ]
        for row in one.rows
        if row.role != "change"
    ]
    sheet.table(heads, rows, set(), words={0, 1}, lead=1.4)
    for row in one.rows:
        if row.role == "change":
            pairs = zip(corner_heads(units), row.cells, strict=True)
            said = "; ".join(f"{head} {text}" for head, (text, _) in pairs)
            sheet.text(f"{words.changed(row.driver)}: {said}", SMALLEST_PT)


def _card(sheet: Sheet, card: ReturnCard, circuit: CircuitData) -> None:
    """A sheet of its own."""
    sheet.finish()
    sheet.heading(f"Card for next time: {card.title}", 15.0, follow_in=4.0)
    top = sheet.left_in
    draw_plan(sheet.box(4.6, 0.0, INNER_IN - 4.6, 1.7), circuit.track)
    for label, text in card.facts:
        sheet.write(label, 0.0, 0.0, 9.0, quiet=True)
        lines = wrapped(text, 9.0, 3.3)
        for line in lines:
            sheet.write(line, 1.2, 0.0, 9.0)
            sheet.space(0.18)
    sheet.left_in = min(sheet.left_in, top - 1.8)
    head = [["corner"], ["way"]]
    for text in card.heads:
        head += [[*wrapped(text, 9.0, 1.1), "usual"], ["best lap"]]
    rows = [[row.title, row.way, *row.cells] for row in card.rows]
    sheet.table(head, rows, set(), size=9.0, words={0, 1}, lead=1.9)
    sheet.space(0.12)
    sheet.text(words.CARD, quiet=True)
    sheet.text(f"{PLUS_MINUS} {words.CARD_BARS}", SMALLEST_PT + 0.5, quiet=True)
    sheet.space(0.1)
    if sheet.left_in > _OWN_IN:
        sheet.text("Your own notes:", quiet=True)
        for _ in range(int(sheet.left_in / 0.34) - 1):
            sheet.space(0.34)
            sheet.rule()
    sheet.finish()


def _end(sheet: Sheet, material: WeekendData) -> None:
    if material.changes:
        sheet.heading(CHANGES)
        sheet.points(list(material.changes), 9.0)
    files = [f"{NOT_USED}: {text}" for text in material.failed] + list(material.remarks)
    if material.left_out:
        files.append(f"{LEFT_OUT}: {', '.join(material.left_out)}")
    if files:
        sheet.heading("Files")
        sheet.points(files)
    sheet.heading("Cautions", follow_in=2.0)
    sheet.points(list(CAUTIONS))
