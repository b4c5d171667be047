"""Sectors, runs through corners and findings of a weekend, against the sessions of its logs."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright import open_session
from lapwright.batch import Weekend, run_weekend
from lapwright.columns import names
from lapwright.columns.corners import PASSES
from lapwright.geometry import Track, read_track

NOTES = """
[logs."friday.csv"]
driver = "Runa Tidewell"
tyre_set = 2
tyre_laps = 14
pressures_cold_bar = [1.8, 1.75]
fuel_l = "32,5"
conditions = "dry"
"""


@pytest.fixture
def made(folder: Path) -> tuple[Weekend, Track]:
    (folder / "weekend.toml").write_text(NOTES)
    text = (folder / "saturday.csv").read_text().splitlines(keepends=True)
    # A hole of two seconds, to be found.
    (folder / "saturday.csv").write_text("".join(text[:400] + text[410:]))
    weekend = run_weekend(folder, track=folder / "track.geojson", repeat_line=False, workers=1)
    (circuit,) = (weekend.out / "circuits").iterdir()
    return weekend, read_track(circuit)


def test_they_are_those_of_the_sessions(made: tuple[Weekend, Track], folder: Path) -> None:
    weekend, track = made
    for name in ("friday", "saturday"):
        session = open_session(folder / f"{name}.csv", track=track, repeat_line=False)
        passes = weekend.passes[weekend.passes["session"] == name].reset_index(drop=True)
        pd.testing.assert_frame_equal(
            passes[names(PASSES)], session.passes, check_dtype=False, check_exact=True
        )
        clean = passes.loc[passes["representative"], "lap"].unique()
        assert list(clean) == list(session.clean_laps)
        called = {n: c.name or str(n) for n, c in enumerate(track.corners, start=1)}
        assert list(passes["corner_name"]) == [called[k] for k in passes["corner"]]
        sectors = weekend.sectors[weekend.sectors["session"] == name]
        laps = session.laps.set_index("lap")
        for row in sectors.to_dict("records"):
            lap, k = laps.loc[row["lap"]], row["sector"] - 1
            assert row["time_s"] == lap["sectors_s"][k]
            assert row["time_sd_s"] == lap["sector_sds_s"][k] > 0.0
            assert row["representative"] == lap["representative"]
        assert len(sectors) == sum(np.isfinite(cells).sum() for cells in laps["sectors_s"])
        findings = weekend.findings[weekend.findings["session"] == name]
        assert list(findings["message"]) == [one.message for one in session.findings]
        assert list(findings["count"]) == [one.count for one in session.findings]
    gap = weekend.findings[weekend.findings["code"] == "gap"]
    # The line after the hole, counted as in an editor: 400 lines are before it.
    assert list(gap["lines"]) == ["401"]


def test_what_is_noted_stands_in_every_table(made: tuple[Weekend, Track]) -> None:
    weekend, _ = made
    for table in (weekend.laps, weekend.sessions, weekend.sectors, weekend.passes):
        mine = table[table["session"] == "friday"]
        assert set(mine["tyre_set"]) == {"2"}
        assert set(mine["driver"]) == {"Runa Tidewell"}
        assert set(table.loc[table["session"] == "saturday", "tyre_set"]) == {""}
    for table in (weekend.laps, weekend.sessions):
        row = table[table["session"] == "friday"].iloc[0]
        wheels = [row[f"pressure_cold_{wheel}_bar"] for wheel in ("fl", "fr", "rl", "rr")]
        assert wheels == [1.8, 1.8, 1.75, 1.75]
        assert (row["tyre_laps"], row["fuel_l"]) == (14, 32.5)
        assert np.isnan([row["pressure_hot_fl_bar"], row["air_temp_degc"]]).all()
    read = pd.read_csv(weekend.out / "laps.csv")
    assert set(read.loc[read["session"] == "friday", "tyre_laps"]) == {14}
