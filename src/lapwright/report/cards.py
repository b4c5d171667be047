"""A card a corner: plan, speed, delta, every pass, where the time went."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.no_habit.quicker_third import quickest_rows
from lapwright.columns import records
from lapwright.plots.drawing.display_units import speed_in
from lapwright.report.beside import BesideCorner, beside_by_corner
from lapwright.report.card_words import corner_parts, corner_words
from lapwright.report.headline import corner_name
from lapwright.report.html.along import delta_figure, speed_figure
from lapwright.report.html.figure import Along
from lapwright.report.html.plan import Plan, corner_plan
from lapwright.report.numbers import (
    NOTHING,
    distance,
    plain,
    with_sd,
)
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.heads import LINE_AT, NO_LIFT, PAGE, PAST_APEX, described, shown_in

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_BEFORE_M, _AFTER_M = 150.0, 100.0
# Columns with an error bar in every cell; of the others it stands once, below.
_EACH = ("time_s", "brake_to_corner_m", "min_speed_mps", "throttle_station_m")
# Where a car did not slow, a word stands in its place.
_SLOWEST = "min_speed_mps"
# Leads the row of those. A run is one lap's way through the corner.
ONE_SD = "± of one run"


@dataclass(frozen=True)
class CardColumn:
    """One column of the table of passes: how it is shown, and where it is in the passes."""

    head: str
    unit: str
    name: str
    sd: str
    factor: float
    decimals: int


@dataclass(frozen=True)
class PassRow:
    """One pass, or a summary of all: what leads the row, its class, the cells, their sds."""

    lead: str
    role: str
    cells: tuple[str, ...]
    sds: tuple[float, ...] = ()


@dataclass(frozen=True)
class Card:
    """
    Everything about one corner.

    Attributes
    ----------
    number : int
    title : str
    facts : str
        Direction, radius, place.
    says : tuple of str
        What the numbers say, in words.
    plan : Plan or None
    figures : tuple of Along
    columns : tuple of CardColumn
    rows : tuple of PassRow
    summary : tuple of PassRow
    sds : PassRow
        The error bar of the pass in the middle, a column.
    ledger : tuple of (str, str, float, float)
        Stretch, difference in words, difference and its sd. [s]
    apex_m : float
    window : (float, float)
        Stations of the stretch around it. [m]
    marks : tuple of (kind, role, station_m, text)
        Marked places on the lines of the best and the usual lap.
    beside : tuple of BesideCorner
        The usual lap and the best side by side; none where there is no usual lap.
    """

    number: int
    title: str
    facts: str
    says: tuple[str, ...]
    plan: Plan | None
    figures: tuple[Along, ...]
    columns: tuple[CardColumn, ...]
    rows: tuple[PassRow, ...]
    summary: tuple[PassRow, ...]
    sds: PassRow
    ledger: tuple[tuple[str, str, float, float], ...]
    apex_m: float
    window: tuple[float, float]
    marks: tuple[tuple[str, str, float, str], ...]
    beside: tuple[BesideCorner, ...]


def corner_cards(material: ReportData, units: Units, *, pictures: bool = True) -> list[Card]:
    """
    Make the cards of all corners.

    Parameters
    ----------
    material : ReportData
    units : Units
    pictures : bool
        Whether the plan and the figures of the page are wanted.

    Returns
    -------
    list of Card
    """
    beside = _beside(material, units)
    return [
        _card(material, row, units, beside.get(row["corner"]), pictures=pictures)
        for row in records(material.corners)
    ]


def _card(
    material: ReportData, corner: Mapping[str, Any], units: Units, beside: BesideCorner | None, *,
    pictures: bool,
) -> Card:  # fmt: skip
    number = int(corner["corner"])
    entry, apex, leave = (float(corner[f"{n}_m"]) for n in ("entry", "apex", "exit"))
    window = max(entry - _BEFORE_M, 0.0), min(leave + _AFTER_M, material.length_m)
    passes = material.passes[material.passes["corner"] == number]
    laps = drawn_laps(material)
    runs = records(passes)
    marks = _marks(material, runs, units)
    title = corner_name(material, number)
    figures: list[Along] = []
    plan = None
    if pictures and material.best is not None:
        figures.append(
            speed_figure(material, laps, window, units, 170, f"Speed through {title}", marks)
        )
        plan = corner_plan(material, laps[-2:], window, marks, f"Lines driven at {title}", units)
    if pictures and material.comparison is not None:
        label = f"Delta through {title}"
        figures.append(
            delta_figure(material.comparison, material.corners, window, units, 90, label)
        )
    columns = _columns(units)
    rows, summary, sds = _table(material, passes, runs, columns, apex)
    facts = (
        f"{'left' if corner['direction'] == 'left' else 'right'}, "
        f"radius {distance(float(corner['radius_m']), units)}, "
        f"apex {distance(apex, units)} after the start line"
    )
    says = corner_words(material, number, passes, units)
    ledger = corner_parts(material, number)
    return Card(
        number, title, facts, says, plan, tuple(figures), columns, rows, summary, sds, ledger, apex,
        window, tuple(marks), () if beside is None else (beside,),
    )  # fmt: skip


def _beside(material: ReportData, units: Units) -> dict[int, BesideCorner]:
    """The usual lap and the best side by side, by corner."""
    c = material.comparison
    if c is None:
        return {}
    leads = f"lap {c.lap}, {material.usual_word}", f"lap {c.reference}, best"
    return beside_by_corner(c, units, leads)


def drawn_laps(material: ReportData) -> list[tuple[int, str]]:
    """Clean laps in drawing order with their roles: best and usual last, above the others."""
    rest = [
        (int(n), "other") for n in material.clean["lap"] if n not in (material.best, material.usual)
    ]
    if material.usual is not None:
        rest.append((material.usual, "usual"))
    return rest if material.best is None else [*rest, (material.best, "best")]


def _marks(
    material: ReportData, runs: Sequence[Mapping[str, Any]], units: Units
) -> list[tuple[str, str, float, str]]:
    """Braking, slowest and throttle points of the best and the usual lap."""
    out = []
    for lap, role in ((material.usual, "usual"), (material.best, "best")):
        for row in (run for run in runs if run["lap"] == lap):
            slow = float(speed_in(row["min_speed_mps"], units.speed))
            for kind, column, text in (
                ("brake", "brake_station_m", "braking point"),
                ("slowest", "min_speed_station_m", f"slowest, {slow:.0f} {units.speed}"),
                ("throttle", "throttle_station_m", "throttle point"),
            ):
                if np.isfinite(row[column]):
                    out.append((kind, role, float(row[column]), f"lap {lap}: {text}"))
    return out


def _columns(units: Units) -> tuple[CardColumn, ...]:
    """Columns of a card, but for the lap's number, which leads the row."""
    columns, out = described("passes"), []
    for name, head in PAGE["passes"].items():
        if name != "lap":
            column = columns[name]
            unit, factor = shown_in(column.unit, units)
            out.append(CardColumn(head, unit, name, column.sd, factor, column.decimals))
    return tuple(out)


def _table(
    material: ReportData, passes: pd.DataFrame, runs: Sequence[Mapping[str, Any]],
    columns: tuple[CardColumn, ...], apex_m: float,
) -> tuple[tuple[PassRow, ...], tuple[PassRow, ...], PassRow]:  # fmt: skip
    """Every pass with its error bars, and the middle and spread of the clean ones."""
    table = passes.assign(**{name: passes[name] - apex_m for name in PAST_APEX})
    rows, clean = [], set(material.clean["lap"])
    for row in runs:
        cells = []
        for k in columns:
            value = (row[k.name] - (apex_m if k.name in PAST_APEX else 0.0)) * k.factor
            if row["flat"] and k.name == _SLOWEST:
                cells.append(NO_LIFT)
            elif k.name in _EACH:
                cells.append(with_sd(value, float(row[k.sd]) * k.factor, k.decimals))
            else:
                cells.append(plain(value, k.decimals))
        lap = int(row["lap"])
        other = "other" if lap in clean else "aside"
        role = {material.best: "best", material.usual: "usual"}.get(lap, other)
        sds = tuple(float(row[k.sd]) * k.factor for k in columns)
        rows.append(PassRow(f"{lap}", role, tuple(cells), sds))
    bars = [_bar(table[k.sd].to_numpy(dtype=np.float64) * k.factor, k.decimals) for k in columns]
    return tuple(rows), _summary(material, table, columns), PassRow(ONE_SD, "sd", tuple(bars))


def _summary(
    material: ReportData, table: pd.DataFrame, columns: tuple[CardColumn, ...]
) -> tuple[PassRow, ...]:
    """Middle and spread of the clean passes, and the middle of the quickest."""
    clean = table[table["lap"].isin(material.clean["lap"])]
    quick = np.isin(clean["lap"].to_numpy(), quickest_laps(material, clean))
    flat = clean["flat"].to_numpy(dtype=bool)
    middle, spread, quicker = [], [], []
    for k in columns:
        values = clean[k.name].to_numpy(dtype=np.float64) * k.factor
        known = values[~np.isnan(values)]
        enough = len(known) >= 3
        spread.append(plain(float(np.std(known, ddof=1)), k.decimals) if enough else NOTHING)
        middle.append(_middle(values, flat, k))
        quicker.append(_middle(values[quick], flat[quick], k))
    rows = [
        PassRow("median", "middle", tuple(middle)),
        PassRow("spread (sd)", "spread", tuple(spread)),
    ]
    if quick.any():
        rows.append(PassRow(f"quickest {np.count_nonzero(quick)}", "quickest", tuple(quicker)))
    return tuple(rows)


def _middle(values: Floats, flat: Flags, k: CardColumn) -> str:
    """Median of some passes; most of them without a lift have no minimum speed."""
    if k.name == _SLOWEST and len(flat) and flat.mean() > 0.5:
        return NO_LIFT
    known = values[~np.isnan(values)]
    return plain(float(np.median(known)), k.decimals) if len(known) else NOTHING


def _bar(sds: Floats, most: int) -> str:
    """The error bar of the pass in the middle, with the digits that mean something."""
    known = np.sort(sds[np.isfinite(sds)])
    if not len(known):
        return ""
    text = with_sd(0.0, float(known[len(known) // 2]), most)
    return text[text.index("\N{PLUS-MINUS SIGN}") :]


def quickest_laps(material: ReportData, clean: pd.DataFrame) -> list[int]:
    """
    Laps of the quickest third of a corner's clean passes, none where there are too few.

    Quickest from before the braking for the corner to before the next, so that braking late and
    a slow exit count as well.
    """
    there = set(zip(clean["lap"], clean["corner"], strict=True))
    lap, corner, span_s = (material.spans[c].to_numpy() for c in ("lap", "corner", "span_s"))
    mine = np.array([one in there for one in zip(lap, corner, strict=True)], dtype=bool)
    return [int(n) for n in lap[mine][quickest_rows(span_s[mine])]]


def line_words(card: Card) -> str:
    """Say what the columns of the line are counted from, and how far they are to be trusted."""
    bars = [
        b for k, b in zip(card.columns, card.sds.cells, strict=True) if k.head == LINE_AT["apex"]
    ]
    text = (
        "Line: how far to the left (+) or right (\N{MINUS SIGN}) of your usual line, the median of "
        "the clean laps at that place"
    )
    unit = card.columns[-1].unit
    if not any(bars):
        return f"{text}; one clean lap has no usual line."
    return f"{text}; good to about {bars[0]} {unit}."


def table_words(card: Card) -> str:
    """Say what the rows and columns of the table of runs through a corner are."""
    quickest = next((row.lead for row in card.summary if row.role == "quickest"), "")
    said = [
        "Time through: corner entry to corner exit.",
        "Braking before corner: measured to the start of the shaded band; below 0: past it.",
        line_words(card),
        "Median and spread are of the clean laps.",
    ]
    if any(NO_LIFT in row.cells for row in (*card.rows, *card.summary)):
        said.append("No lift: the car did not slow for the corner.")
    if quickest:
        said.append(
            f"{quickest.capitalize()}: median of the quickest third, timed from this braking zone "
            "to the next."
        )
    return " ".join(said)
