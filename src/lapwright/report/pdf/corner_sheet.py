"""A corner's card on paper: plan, speed, delta and line around it, its table, room for a pen."""

from typing import TYPE_CHECKING, Any

import numpy as np

from lapwright.corners.pass_details import usual_offset
from lapwright.plots.drawing.display_units import distance_axis, speed_in
from lapwright.plots.drawing.palette import LIGHT
from lapwright.report.cards import ONE_SD, Card, drawn_laps, table_words
from lapwright.report.headline import worth
from lapwright.report.pdf.plan import corner_plan_on, draw_marks
from lapwright.report.pdf.sheet import INNER_IN, LEAD, SMALLEST_PT, Sheet
from lapwright.report.pdf.table import paper_head, paper_rows
from lapwright.report.pdf.text_layout import POINTS, wrapped
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.cautions import BUILD_UP

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Heights of the figures, as little and as much as is good. [in]
_MIN_IN, _MAX_IN = 3.7, 4.7
_PLAN_IN = 2.15
_TRACES_FROM_IN = _PLAN_IN + 0.72
_ROW_IN = 1.5 * SMALLEST_PT / POINTS
# Of the table, without its rows: its head and rules. [in]
_HEAD_IN = 0.75
_NOTE_IN = 0.3
_LOOKS: dict[str, dict[str, Any]] = {
    "best": {"color": LIGHT.best, "linewidth": 1.9, "linestyle": "-", "zorder": 4},
    "usual": {"color": LIGHT.usual, "linewidth": 1.6, "linestyle": (0, (5, 2)), "zorder": 3},
    "other": {"color": "#a6a6a6", "linewidth": 0.7, "linestyle": "-", "zorder": 2},
}


def draw_card(sheet: Sheet, material: ReportData, card: Card, units: Units) -> None:
    """
    Draw one corner on a sheet of its own.

    Parameters
    ----------
    sheet : Sheet
    material : ReportData
    card : Card
    units : Units
    """
    sheet.finish()
    sheet.text(card.title[:1].upper() + card.title[1:], 15.0, bold=True)
    sheet.text(card.facts, quiet=True)
    sheet.space(0.04)
    for item in material.worth_trying:
        if item.corner == card.number:
            sheet.text(f"{item.text} {worth(item)}", bold=True)
            sheet.space(0.04)
    for line in card.says:
        sheet.text(line)
    words = table_words(card)
    # One line more for which laps did not fit, and one for the caution.
    note_lines = len(wrapped(words, SMALLEST_PT, INNER_IN)) + 2
    around_in = _HEAD_IN + note_lines * LEAD * SMALLEST_PT / POINTS
    most = int((sheet.left_in - _MIN_IN - around_in) / _ROW_IN)
    rows, bold, left_out = paper_rows(card, most, material.usual_word)
    spare = sheet.left_in - around_in - len(rows) * _ROW_IN
    _figures(sheet, material, card, units, float(np.clip(spare, _MIN_IN, _MAX_IN)))
    below = len(card.summary) + (rows[-1][0] == ONE_SD)
    sheet.table(paper_head(card), rows, bold, below=below)
    sheet.space(0.06)
    sheet.text(f"{words}{left_out}", SMALLEST_PT, quiet=True)
    sheet.text(BUILD_UP, SMALLEST_PT, quiet=True)
    _notes(sheet)


def _notes(sheet: Sheet) -> None:
    """Lines for what driver and coach agree on, where the sheet has room for them."""
    count = int((sheet.left_in - 0.4) / _NOTE_IN)
    if count >= 2:
        sheet.space(0.16)
        sheet.text("Notes", 9.5, bold=True)
        for _ in range(min(count, 8)):
            sheet.space(_NOTE_IN)
            sheet.rule()


def _figures(
    sheet: Sheet, material: ReportData, card: Card, units: Units, height_in: float
) -> None:
    """Plan and where the time went on the left; speed, delta and line on the right."""
    legend_in, letters_in, apart_in = 0.3, 0.55, 0.14
    inner = height_in - legend_in - letters_in - 2.0 * apart_in
    wide = INNER_IN - _TRACES_FROM_IN - 0.05
    heights = [0.46 * inner, 0.27 * inner, 0.27 * inner]
    down, traces = legend_in, []
    for height in heights:
        traces.append(sheet.box(_TRACES_FROM_IN, down, wide, height))
        down += height + apart_in
    _speed(traces[0], material, card, units)
    _delta(traces[1], material, card)
    _line(traces[2], material, card, units)
    _frame(traces, material, card, units)
    plan_in = min(_PLAN_IN + 0.1, height_in - 1.75)
    corner_plan_on(sheet.box(0.0, 0.05, _PLAN_IN, plan_in), material, card, _LOOKS, units)
    _beside(sheet, material, card, plan_in + 0.12)
    sheet.space(height_in)


def _beside(sheet: Sheet, material: ReportData, card: Card, down_in: float) -> None:
    """Explain the marks, and say where the time went, below the plan."""
    step = 1.4 * SMALLEST_PT / POINTS
    lines = ["\N{BLACK SQUARE} braking point   \N{BLACK CIRCLE} slowest",
             "\N{BLACK UP-POINTING TRIANGLE} throttle point   hollow: "
             f"{material.usual_word} lap"]  # fmt: skip
    for k, line in enumerate(lines):
        sheet.write(line, 0.0, down_in + k * step, SMALLEST_PT, quiet=True)
    down_in += (len(lines) + 0.5) * step
    if card.ledger:
        sheet.write(
            f"{material.usual_word.capitalize()} lap to the best [s]",
            0.0,
            down_in,
            SMALLEST_PT,
            bold=True,
        )
    for k, (stretch, text, _, _) in enumerate(card.ledger, start=1):
        sheet.write(stretch, 0.0, down_in + k * step, SMALLEST_PT)
        sheet.write(text, _PLAN_IN - 0.1, down_in + k * step, SMALLEST_PT, right=True)


def _speed(ax: "Axes", material: ReportData, card: Card, units: Units) -> None:
    said = set()
    for lap, role in drawn_laps(material):
        trace = material.traces[lap]
        part = trace.within(*card.window)
        label = {"best": f"lap {lap}, the best", "usual": f"lap {lap}, {material.usual_is}"}.get(
            role, "other clean laps"
        )
        ax.plot(
            trace.station_m[part] - card.apex_m, speed_in(trace.speed_mps[part], units.speed),
            label=None if label in said else label, **_LOOKS[role],
        )  # fmt: skip
        said.add(label)
    ax.set_ylabel(f"speed [{units.speed}]")
    by_role = {role: material.traces[lap] for lap, role in drawn_laps(material)}
    points = {}
    for kind, role, station, _ in card.marks:
        if role in by_role and card.window[0] <= station <= card.window[1]:
            value = float(speed_in(by_role[role].at_station("speed_mps", station), units.speed))
            points[kind, role] = (station - card.apex_m, value)
    draw_marks(ax, points)
    ax.legend(
        loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3, handlelength=2.6, columnspacing=1.2,
        borderaxespad=0.1, fontsize=SMALLEST_PT,
    )  # fmt: skip


def _delta(ax: "Axes", material: ReportData, card: Card) -> None:
    ax.set_ylabel("delta [s]")
    if material.comparison is None:
        return
    table = material.comparison.delta
    inside = table["station_m"].between(*card.window)
    x = table.loc[inside, "station_m"] - card.apex_m
    lost, sd = table.loc[inside, "delta_s"], table.loc[inside, "delta_sd_s"]
    ax.fill_between(x, lost - sd, lost + sd, color=LIGHT.usual, alpha=0.3, linewidth=0)
    ax.plot(x, lost, color=LIGHT.usual, linestyle="-", linewidth=1.6)
    low, high = float((lost - sd).min()), float((lost + sd).max())
    room = max(0.12 * (high - low), 0.5 * (0.06 - (high - low)))
    ax.set_ylim(low - room, high + room)


def _line(ax: "Axes", material: ReportData, card: Card, units: Units) -> None:
    """How far left of the usual line; nothing where there is none."""
    clean = [int(n) for n in material.clean["lap"]]
    for lap, role in drawn_laps(material):
        trace = material.traces[lap]
        part = trace.within(*card.window)
        aside = trace.offset_m[part] - usual_offset(material.traces, clean, trace.station_m[part])
        ax.plot(trace.station_m[part] - card.apex_m, aside, **_LOOKS[role])
    ax.axhline(0.0, color=LIGHT.axis, linewidth=0.8, zorder=1)
    distance_axis(ax.yaxis, units, "line, + left")


def _frame(axes: "list[Axes]", material: ReportData, card: Card, units: Units) -> None:
    """What the traces share: the corner, its apex, the distance from it."""
    row = material.corners[material.corners["corner"] == card.number].iloc[0]
    for ax in axes:
        ax.axvspan(
            row["entry_m"] - card.apex_m, row["exit_m"] - card.apex_m, color="#f0efe9",
            linewidth=0, zorder=0,
        )  # fmt: skip
        ax.axvline(0.0, color=LIGHT.axis, linewidth=0.7, zorder=1)
        ax.set_xlim(card.window[0] - card.apex_m, card.window[1] - card.apex_m)
        ax.locator_params(axis="y", nbins=5 if ax is axes[0] else 4)
        ax.yaxis.set_label_coords(-0.115, 0.5)
        distance_axis(ax.xaxis, units, "distance from the apex")
    for ax in axes[:-1]:
        ax.tick_params(axis="x", labelbottom=False, length=0)
        ax.set_xlabel("")
