"""A folder's table, in the terminal, as JSON and in files, against the sessions of its logs."""

import json
import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from session_truth import Truth
from shown import True_, exact, wrong
from shown_names import WEEKEND_COMMAND
from terminal_reading import read_csv, same, table_from

from lapwright import simulate as sim
from lapwright.cli import cli
from lapwright.discovery import complete_track
from lapwright.geometry import read_track, write_track
from lapwright.ingest import read_log
from lapwright.notes.weekend_notes import LogNotes, read_notes
from lapwright.session import Session


@dataclass(frozen=True)
class Folder:
    """What was driven, and what the command said of it."""

    truths: dict[str, Truth]
    lines: list[str]
    document: dict[str, object]
    out: Path


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Folder:
    """Three laps with a spin, two clean ones, and a single one."""
    place = tmp_path_factory.mktemp("weekend")
    circuit = sim.invented("wren_hollow")
    receiver = replace(sim.ORDINARY, rate_hz=5.0)
    plans = {
        "friday": sim.Plan((3,), events=(sim.Spin(2, corner=4),)),
        "saturday": sim.Plan((2,)), "sunday": sim.Plan((1,)),
    }  # fmt: skip
    for seed, (name, plan) in enumerate(plans.items(), start=31):
        run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), plan, seed=seed)
        sim.write_csv(sim.receive(run, receiver, seed=seed + 10), place / f"{name}.csv")
    (place / "weekend.toml").write_text('[logs."saturday.csv"]\ndriver = "Runa 2"\nfirst_lap = 7\n')
    sim.write_track(circuit, place / "lines.geojson")
    track = complete_track(read_track(place / "lines.geojson"), read_log(place / "friday.csv"))
    (place / "lines.geojson").unlink()
    write_track(track, place / "hollow.geojson")
    out = place / "results"
    options = [str(place), "--track", str(place / "hollow.geojson"), "--out", str(out)]
    said = [
        CliRunner().invoke(cli, ["weekend", *options, "--workers", "1", *more])
        for more in ([], ["--json"])
    ]
    assert [one.exit_code for one in said] == [0, 0], said[0].output
    notes = read_notes(place / "weekend.toml")
    known = read_track(place / "hollow.geojson")
    truths = {
        name: Truth(
            Session(
                read_log(place / f"{name}.csv"), known, notes=notes.get(f"{name}.csv", LogNotes())
            )
        )
        for name in plans
    }
    return Folder(truths, said[0].stdout.splitlines(), json.loads(said[1].stdout), out)


def _figures(truth: Truth) -> tuple[float, float, float, float]:
    """Best lap and its sd, median and spread of the clean laps."""
    times = truth.laps.loc[truth.clean, "time_s"].to_numpy(dtype=np.float64)
    best = (math.nan, math.nan)
    if truth.best is not None:
        best = tuple(truth.laps.loc[truth.best, ["time_s", "time_sd_s"]])
    spread = float(times.std(ddof=1)) if len(times) > 1 else math.nan
    return (*best, float(np.median(times)) if len(times) else math.nan, spread)


def test_table(folder: Folder) -> None:
    heads, rows = table_from(folder.lines, "session")
    assert [head for head in heads if head] == list(WEEKEND_COMMAND)
    assert sorted(row[0] for row in rows) == sorted(folder.truths)
    complaints = []
    for row in rows:
        truth = folder.truths[row[0]]
        best, sd, middle, spread = _figures(truth)
        assert row[1] == truth.session.notes.driver
        true = [
            exact(len(truth.timed)), exact(len(truth.clean)), True_(best, sd, 3), True_(sd, sd, 3),
            True_(middle, most=2), True_(spread, spread, 2),
        ]  # fmt: skip
        said = [wrong(cell, one) for cell, one in zip(row[2:], true, strict=True)]
        complaints += [f"{row[0]}: {one}" for one in said if one]
    assert complaints == []


def test_json(folder: Folder) -> None:
    shown = folder.document["sessions"]
    assert isinstance(shown, list)
    assert len(shown) == len(folder.truths)
    for one in shown:
        truth = folder.truths[Path(one["path"]).stem]
        best, _, middle, _ = _figures(truth)
        assert (one["laps"], one["status"]) == (len(truth.timed), "ok")
        assert same(one["best_lap_s"], best)
        assert same(one["median_s"], middle)


def test_files(folder: Folder) -> None:
    parquet = pd.read_parquet(folder.out / "laps.parquet")
    for table in (read_csv(folder.out / "laps.csv"), parquet):
        assert sorted(table["session"].unique()) == sorted(folder.truths)
        for name, truth in folder.truths.items():
            rows, laps = table[table["session"] == name], truth.session.laps
            assert list(rows["lap"]) == list(laps["lap"])
            assert (rows["representative"].to_numpy() == laps["representative"].to_numpy()).all()
            for column in ("start_s", "time_s", "time_sd_s", "time_low95_s", "time_high95_s",
                           "top_speed_mps", "top_speed_station_m"):  # fmt: skip
                mine = rows[column].to_numpy(dtype=np.float64)
                true = laps[column].to_numpy(dtype=np.float64)
                assert np.array_equal(mine, true, equal_nan=True), (name, column)
            for k in range(3):
                for ending, of in (("s", "sectors_s"), ("sd_s", "sector_sds_s")):
                    mine = rows[f"sector_{k + 1}_{ending}"].to_numpy(dtype=np.float64)
                    true = np.array([row[k] for row in laps[of]], dtype=np.float64)
                    assert np.array_equal(mine, true, equal_nan=True)
