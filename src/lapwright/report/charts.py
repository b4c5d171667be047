"""The page's other figures: lap times over the session, the ledger's bars."""

from dataclasses import dataclass

from lapwright.columns import records
from lapwright.laps.stretches import STRETCHES
from lapwright.report.headline import corner_name, corner_sums, stretch_difference
from lapwright.report.html.figure import MAX_Y_TICKS, Tick, nice_step, padded, ticks
from lapwright.report.numbers import NOTHING, signed_with_sd
from lapwright.report.report_data import ReportData
from lapwright.report.two_laps import TwoLaps
from lapwright.units import clock, is_equal
from lapwright.wording.flags import flag_list

# Laps slower than this against the fastest are only in the table.
_SHOWN_FACTOR = 1.06
_HEIGHT = 170


@dataclass(frozen=True)
class LapDot:
    """One lap: place in percent and pixels, half its error bar in pixels, what to say."""

    percent: str
    y: float
    bar: float
    role: str
    text: str


@dataclass(frozen=True)
class LapChart:
    """Lap times over the session."""

    height: int
    dots: tuple[LapDot, ...]
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    beyond: str


def lap_chart(material: ReportData) -> LapChart | None:
    """
    Lap times over the session.

    Parameters
    ----------
    material : ReportData

    Returns
    -------
    LapChart or None
        None where there is no timed lap.
    """
    laps = material.laps
    timed = laps[(laps["kind"] == "timed") & laps["time_s"].notna()]
    if timed.empty:
        return None
    top = float(timed["time_s"].min()) * _SHOWN_FACTOR
    shown, beyond = timed[timed["time_s"] <= top], timed[timed["time_s"] > top]
    low, high = padded(float(shown["time_s"].min()), float(shown["time_s"].max()), 0.18, 0.4)
    first, last = int(timed["lap"].min()), int(timed["lap"].max())
    span = last - first + 1.0
    dots = []
    for row in records(shown):
        share = (row["lap"] - first + 0.5) / span
        scale = _HEIGHT / (high - low)
        role = "best" if row["lap"] == material.best else "clean"
        role = role if row["representative"] else "flagged"
        said = flag_list(row["flags"])
        text = f"lap {row['lap']}: {clock(row['time_s'])}" + (f" ({said})" if said else "")
        y = (high - row["time_s"]) * scale
        dots.append(LapDot(f"{100 * share:.2f}%", y, row["time_sd_s"] * scale, role, text))
    every = max(1, round(nice_step(span, 12)))
    x_ticks = tuple(
        Tick((n - first + 0.5) / span, str(n)) for n in range(first, last + 1) if n % every == 0
    )
    labels = tuple(
        Tick(t.share, clock(low + t.share * (high - low), most=1))
        for t in ticks(low, high, MAX_Y_TICKS)
    )
    names = ", ".join(str(n) for n in beyond["lap"])
    said = f"Too slow to show: lap {names}." if names else ""
    return LapChart(_HEIGHT, tuple(dots), x_ticks, labels, said)


@dataclass(frozen=True)
class LedgerCell:
    """One difference: in words, and whether it stands clear of its error bar."""

    text: str
    role: str


@dataclass(frozen=True)
class LedgerRow:
    """One corner's share of the difference: its stretches, their sum, and the bar."""

    corner: int
    name: str
    cells: tuple[LedgerCell, ...]
    total: LedgerCell
    bar_start: float
    bar_width: float
    whisker_start: float
    whisker_end: float


def ledger_rows(material: TwoLaps) -> tuple[tuple[LedgerRow, ...], float]:
    """
    Lay out where the usual lap lost time to the best, a row a corner.

    Parameters
    ----------
    material : TwoLaps

    Returns
    -------
    rows : tuple of LedgerRow
        Bars in percent of the scale.
    zero : float
        Where zero stands on the scale, in percent.
    """
    comparison = material.comparison
    if comparison is None:
        return (), 0.0
    sums = sorted(corner_sums(material))
    low = min(0.0, *(value - sd for _, value, sd in sums))
    high = max(0.0, *(value + sd for _, value, sd in sums))
    low, high = padded(low, high, 0.03, 0.02)

    def percent(value: float) -> float:
        return 100.0 * (value - low) / (high - low)

    rows = []
    for corner, value, sd in sums:
        cells = tuple(_stretch(material, corner, stretch) for stretch in STRETCHES)
        start, end = sorted((percent(0.0), percent(value)))
        rows.append(
            LedgerRow(
                corner, corner_name(material, corner), cells, _cell(value, sd), start,
                end - start, percent(value - sd), percent(value + sd),
            )
        )  # fmt: skip
    return tuple(rows), percent(0.0)


def _stretch(material: TwoLaps, corner: int, stretch: str) -> LedgerCell:
    found = stretch_difference(material, corner, stretch)
    return LedgerCell(NOTHING, "equal") if found is None else _cell(*found)


def _cell(value: float, sd: float) -> LedgerCell:
    role = "equal" if is_equal(value, sd) else ("lost" if value > 0.0 else "gained")
    return LedgerCell(signed_with_sd(value, sd), role)
