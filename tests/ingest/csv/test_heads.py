"""Heads as spreadsheets and loggers leave them: padded lines, columns without a name."""

from pathlib import Path

import numpy as np
import pytest

from lapwright.ingest import read_log

# 0.04 s apart in time; a move of 1.3e-5 and 1.8e-5 degrees, about 52 m/s or 116 mph.
TIME = np.arange(200) * 0.04
LAT, LON = -42.99 + 1.3e-5 * np.arange(200), 171.5 + 1.8e-5 * np.arange(200)


def body(south: bool = False) -> list[str]:
    lat = [f"{-a:.7f},S" if south else f"{a:.7f}" for a in LAT]
    lon = [f"{b:.7f},E" if south else f"{b:.7f}" for b in LON]
    return [f"{t:.2f},{a},{b},116" for t, a, b in zip(TIME, lat, lon, strict=True)]


@pytest.mark.parametrize(
    "head",
    [
        # A spreadsheet fills every line up to the width of the widest.
        ["Logger,Mine,,", "Log date,07/02/2026,,", "Rate,25,,", ",,,", "Time,Lat,Lon,Speed (mph)"],
        ["Car,7,,", "Time,Lat,Lon,Speed (mph)"],
        ['"Logger","Mine","",""', '"Rate","25","",""', "Time,Lat,Lon,Speed", "s,deg,deg,mph"],
        ["Time,Lat,Lon,MPH"],
    ],
)
def test_lines_above_the_header_filled_up_with_blanks(head: list[str], tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text("\n".join([*head, *body()]) + "\n", encoding="utf-8")
    log = read_log(file)
    assert len(log.fixes) == 200
    assert log.fixes["line"].iloc[0] == len(head) + 1
    np.testing.assert_allclose(log.fixes["lat_deg"], LAT, atol=1e-7)
    np.testing.assert_allclose(log.fixes["speed_mps"], 116 * 0.44704)


def test_a_hemisphere_in_a_column_without_a_name(tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    lines = ["Time,Latitude,,Longitude,,Speed (mph)", *body(south=True)]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    log = read_log(file)
    np.testing.assert_allclose(log.fixes["lat_deg"], LAT, atol=1e-7)
    np.testing.assert_allclose(log.fixes["lon_deg"], LON, atol=1e-7)
