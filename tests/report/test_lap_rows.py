"""The lap table: each lap's own numbers, words and remarks."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright.report.lap_rows import any_equal, lap_heads, lap_rows
from lapwright.report.report_data import ReportData
from lapwright.units import Units

# Mile of the international yard, 1959: exact. [m]
MILE_M = 1609.344


def seconds(text: str) -> tuple[float, float]:
    """Time and error bar of a cell."""
    time, _, bar = text.partition(" ± ")
    minutes, _, rest = time.rpartition(":")
    return 60.0 * float(minutes or 0) + float(rest), float(bar)


def test_every_lap_has_its_own_times(material: ReportData) -> None:
    laps = material.laps.set_index("lap")
    rows = lap_rows(material, Units())
    assert [row.lap for row in rows] == list(laps.index)
    for row in rows:
        true = laps.loc[row.lap]
        if true["kind"] != "timed":
            assert row.time == row.gap == "\N{EN DASH}"
            continue
        time, bar = seconds(row.time)
        assert time == pytest.approx(true["time_s"], abs=6e-4)
        assert bar == pytest.approx(true["time_sd_s"], abs=6e-4)
        for text, sector, sd in zip(
            row.sectors, true["sectors_s"], true["sector_sds_s"], strict=True
        ):
            time, bar = seconds(text)
            # As many digits as its error bar has: half a unit of the last.
            half = 0.501 * 10.0 ** -len(text.partition(".")[2].partition(" ")[0])
            assert half < 0.01
            assert time == pytest.approx(sector, abs=half)
            assert bar == pytest.approx(sd, abs=half)
        if row.lap == material.best:
            assert row.gap == "best"
        else:
            gap, bar = seconds(row.gap)
            assert gap == pytest.approx(true["gap_s"], abs=6e-4)
            assert bar == pytest.approx(true["gap_sd_s"], abs=6e-4)


@pytest.mark.parametrize(("units", "factor"), [("km/h", 3.6), ("mph", 3600.0 / MILE_M)])
def test_top_speeds_are_in_the_unit_of_the_head(
    material: ReportData, units: str, factor: float
) -> None:
    shown = [float(row.top) for row in lap_rows(material, Units(units))]
    assert shown == pytest.approx(list(material.laps["top_speed_mps"] * factor), abs=0.5001)
    heads = lap_heads(material, Units(units))
    sectors = len(material.track.sectors) + 1
    assert [f"sector {k + 1} [s]" for k in range(sectors)] == heads[4 : 4 + sectors]
    assert heads[4 + sectors] == f"top speed [{units}]"


def test_remarks_say_what_a_lap_is(material: ReportData) -> None:
    laps = material.laps.copy()
    first = laps.index[laps["lap"] == 1][0]
    laps.at[first, "flags"] = ("off_path", "gap")
    laps.loc[first, "representative"] = False
    rows = {row.lap: row for row in lap_rows(replace(material, laps=laps), Units())}
    assert rows[1].remarks == "off the usual line, gap in the log"
    assert material.best is not None
    assert material.usual is not None
    assert rows[material.usual].remarks == "the typical lap"
    assert rows[material.best].remarks == "clean"
    roles = {number: row.role for number, row in rows.items() if row.role != "other"}
    assert roles == {material.best: "best", material.usual: "usual"}
    words = {"out": "out lap", "timed": "lap", "in": "in lap"}
    assert [row.kind for row in rows.values()] == [words[kind] for kind in laps["kind"]]
    assert rows[0].remarks == ""


@pytest.mark.parametrize(("gap_s", "equal"), [(0.019, True), (0.021, False), (-0.019, True)])
def test_within_two_sd_a_lap_is_equal(material: ReportData, gap_s: float, equal: bool) -> None:
    laps = material.laps.assign(gap_s=5.0, gap_sd_s=0.01)
    laps.loc[laps["lap"] == 3, "gap_s"] = gap_s
    found = replace(material, laps=laps)
    assert any_equal(found) == equal
    assert (lap_rows(found, Units())[3].gap == "equal") == equal
    # What is no timed lap is compared with nothing.
    laps = laps.assign(gap_s=np.where(laps["kind"] == "timed", 5.0, 0.0))
    assert not any_equal(replace(material, laps=laps))
