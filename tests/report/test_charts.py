"""Dots of the lap chart and bars of the ledger: at their numbers, of the right lap and corner."""

import re
from dataclasses import replace

import numpy as np
import pytest

from lapwright.report.charts import LapChart, lap_chart, ledger_rows
from lapwright.report.report_data import ReportData


def seconds(text: str) -> float:
    """Read a lap time."""
    minutes, rest = text.split(":")
    return 60.0 * float(minutes) + float(rest)


def drawn(material: ReportData) -> LapChart:
    chart = lap_chart(material)
    assert chart is not None
    return chart


def scale(chart: LapChart) -> tuple[float, float]:
    """Seconds at the bottom and at the top, by two of the numbers on the axis."""
    first, last = chart.y_ticks[0], chart.y_ticks[-1]
    slope = (seconds(last.text) - seconds(first.text)) / (last.share - first.share)
    low = seconds(first.text) - slope * first.share
    return low, low + slope


def test_every_dot_stands_at_its_lap_time_with_its_error_bar(material: ReportData) -> None:
    wide = material.laps.assign(time_sd_s=0.01 * (1.0 + material.laps["lap"]))
    chart = drawn(replace(material, laps=wide))
    timed = wide[wide["kind"] == "timed"].set_index("lap")
    low, high = scale(chart)
    # Slower is up, as the axis says.
    assert high > low
    assert len(chart.dots) == len(timed) == 20
    for dot, (lap, row) in zip(chart.dots, timed.iterrows(), strict=True):
        shown = low + (1.0 - dot.y / chart.height) * (high - low)
        # The axis is numbered to a tenth.
        assert shown == pytest.approx(row["time_s"], abs=0.01)
        assert dot.bar * (high - low) / chart.height == pytest.approx(row["time_sd_s"], rel=0.01)
        assert seconds(dot.text.partition(": ")[2]) == pytest.approx(row["time_s"], abs=6e-4)
        assert dot.text.startswith(f"lap {lap}:")
        # Twenty laps, each in the middle of its twentieth.
        assert float(dot.percent[:-1]) == pytest.approx(100.0 * (lap - 0.5) / 20.0, abs=0.006)
        assert dot.role == ("best" if lap == material.best else "clean")


def test_numbers_below_the_dots_are_those_of_the_laps(material: ReportData) -> None:
    chart = drawn(material)
    places = {dot.text.split()[1].rstrip(":"): float(dot.percent[:-1]) for dot in chart.dots}
    # At most a dozen of them, at a round step: every second lap of twenty.
    assert [t.text for t in chart.x_ticks] == [str(n) for n in range(2, 21, 2)]
    for tick in chart.x_ticks:
        assert 100.0 * tick.share == pytest.approx(places[tick.text], abs=0.006)


def test_laps_set_aside_look_it_and_far_slower_ones_are_named(material: ReportData) -> None:
    laps = material.laps.copy()
    fastest = laps.loc[laps["kind"] == "timed", "time_s"].min()
    rows = laps.index[laps["kind"] == "timed"]
    best = laps.loc[laps["lap"] == material.best].index[0]
    odd, slow, slower = [i for i in rows if i != best][:3]
    laps.loc[[odd, slow, slower], "representative"] = False
    laps.at[odd, "flags"] = ("off_path",)
    # Shown up to 6 % slower than the fastest.
    laps.loc[odd, "time_s"] = 1.059 * fastest
    laps.loc[slow, "time_s"] = 1.061 * fastest
    laps.loc[slower, "time_s"] = 2.0 * fastest
    chart = drawn(replace(material, laps=laps))
    said = {int(dot.text.split()[1].rstrip(":")): dot for dot in chart.dots}
    shown = laps.loc[odd, "lap"]
    assert said[shown].role == "flagged"
    assert said[shown].text.endswith("(off the usual line)")
    gone = [int(laps.loc[i, "lap"]) for i in (slow, slower)]
    assert not set(gone) & set(said)
    assert chart.beyond == f"Too slow to show: lap {gone[0]}, {gone[1]}."
    assert drawn(material).beyond == ""
    # All dots lie within the frame, with room to spare.
    assert all(0.0 < dot.y < chart.height for dot in chart.dots)


def test_without_a_timed_lap_there_is_no_chart(material: ReportData) -> None:
    assert lap_chart(replace(material, laps=material.laps.iloc[:1])) is None


def number(text: str) -> tuple[float, float]:
    found = re.fullmatch(r"(\S+) ± <?(\S+)", text.replace("\N{MINUS SIGN}", "-"))
    assert found is not None, text
    return float(found[1]), float(found[2])


def test_a_row_of_the_ledger_is_a_corner_with_the_straight_after_it(material: ReportData) -> None:
    c = material.comparison
    assert c is not None
    rows, _ = ledger_rows(material)
    assert {row.corner for row in rows} == set(c.ledger["corner"])
    for row in rows:
        here = (c.ledger["corner"] == row.corner).to_numpy()
        total = float(c.ledger.loc[here, "difference_s"].sum())
        sd = float(np.sqrt(c.ledger_cov_s2[np.ix_(here, here)].sum()))
        value, bar = number(row.total.text)
        assert value == pytest.approx(total, abs=6e-4)
        assert bar == pytest.approx(sd, rel=0.5, abs=6e-4)
        # Within twice its error bar it is too small to measure; above nothing it is lost.
        role = "equal" if abs(total) < 2.0 * sd else "lost" if total > 0.0 else "gained"
        assert row.total.role == role
        for stretch, cell in zip(("braking", "entry", "exit", "straight"), row.cells, strict=True):
            part = here & (c.ledger["stretch"] == stretch).to_numpy()
            long = (c.ledger["end_m"] - c.ledger["start_m"]).to_numpy()[part].sum()
            if not long > 0.0:
                assert cell.text == "\N{EN DASH}"
                continue
            value, bar = number(cell.text)
            assert value == pytest.approx(c.ledger.loc[part, "difference_s"].sum(), abs=6e-3)
            sd = float(np.sqrt(c.ledger_cov_s2[np.ix_(part, part)].sum()))
            # "<0.001" says that it is less than what the last digit can show.
            if "<" in cell.text:
                assert sd < bar
            else:
                assert bar == pytest.approx(sd, rel=0.5, abs=6e-4)


def test_bars_of_the_ledger_are_to_one_scale_from_zero(material: ReportData) -> None:
    rows, zero = ledger_rows(material)
    c = material.comparison
    assert c is not None
    sums, sds = {}, {}
    for row in rows:
        here = (c.ledger["corner"] == row.corner).to_numpy()
        sums[row.corner] = float(c.ledger.loc[here, "difference_s"].sum())
        sds[row.corner] = float(np.sqrt(c.ledger_cov_s2[np.ix_(here, here)].sum()))
    largest = max(rows, key=lambda row: abs(sums[row.corner]))
    per_s = largest.bar_width / abs(sums[largest.corner])
    for row in rows:
        value, sd = sums[row.corner], sds[row.corner]
        ends = sorted((zero, zero + per_s * value))
        assert (row.bar_start, row.bar_start + row.bar_width) == pytest.approx(ends)
        whisker = (zero + per_s * (value - sd), zero + per_s * (value + sd))
        assert (row.whisker_start, row.whisker_end) == pytest.approx(whisker)
        assert 0.0 < row.whisker_start < row.whisker_end < 100.0


def test_without_a_comparison_there_is_no_ledger(material: ReportData) -> None:
    assert ledger_rows(replace(material, comparison=None)) == ((), 0.0)
