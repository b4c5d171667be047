"""What programs read (JSON, CSV, Parquet) holds the session's numbers to the last digit."""

from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from readback_worlds import NAMES, advice_of, truth_of
from session_truth import Truth, by_run
from terminal_reading import read_csv, rows_wrong, run_json, same

from lapwright.report import write_tables
from lapwright.wording.coaching.worth_trying import advice_in_words


@pytest.fixture(params=NAMES)
def truth(request: pytest.FixtureRequest) -> Truth:
    return truth_of(request.param)


@pytest.fixture
def name(truth: Truth, request: pytest.FixtureRequest) -> str:
    return str(request.node.callspec.params["truth"])


def test_laps(truth: Truth, name: str) -> None:
    shown = run_json(name, "laps")
    session = truth.session
    assert rows_wrong(shown["laps"], session.laps.drop(columns="flags")) == []
    for one, row in zip(shown["laps"], session.laps.to_dict("records"), strict=True):
        assert one["flags"] == list(row["flags"])
        ends = [row["time_low95_s"], row["time_high95_s"]]
        assert one["time_ci95_s"] is None or same(one["time_ci95_s"], ends)
        assert (one["time_ci95_s"] is None) == pd.isna(row["time_s"])
        zero = session.log.start_utc
        if zero is not None:
            moment = zero + pd.Timedelta(row["start_s"], unit="s")
            assert abs(pd.Timestamp(one["start_utc"]) - moment) < pd.Timedelta("2us")
    assert shown["best_lap"] == truth.best
    best = session.theoretical_best or (None, None)
    assert (shown["theoretical_best_s"], shown["theoretical_best_sd_s"]) == best
    for key, value in asdict(session.noise).items():
        assert same(shown["noise"][key], value), key
    log = shown["log"]
    assert (log["fixes"], log["rate_hz"]) == (len(session.log.fixes), session.log.rate_hz)
    assert log["duration_s"] == session.log.duration_s
    assert [f["count"] for f in log["findings"]] == [f.count for f in session.findings]
    assert shown["track"]["length_m"] == session.track.length_m


def test_corners(truth: Truth, name: str) -> None:
    shown = run_json(name, "corners")
    assert rows_wrong(shown["corners"], truth.session.corners) == []
    assert rows_wrong(shown["passes"], truth.session.passes) == []
    items = advice_of(name).items
    assert len(shown["worth_trying"]) == len(items)
    for one, item in zip(shown["worth_trying"], items, strict=True):
        assert all(same(value, getattr(item, key)) for key, value in one.items())


def test_compare(truth: Truth, name: str) -> None:
    c = truth.comparison
    if c is None:
        pytest.skip("there are no two laps to compare")
    shown = run_json(name, "compare", c.lap, "--reference", c.reference)
    assert (shown["lap"], shown["reference"]) == (c.lap, c.reference)
    assert shown["time_difference_s"] == c.time_difference_s
    assert shown["time_difference_sd_s"] == c.time_difference_sd_s
    assert set(shown["delta"]) == set(c.delta)
    for key, column in c.delta.items():
        assert same(shown["delta"][key], column.to_numpy()), key
    assert rows_wrong(shown["ledger"], c.ledger) == []
    assert rows_wrong(shown["causes"], c.causes) == []
    assert rows_wrong(shown["passes"], c.passes) == []


def test_debrief_and_track(truth: Truth, name: str) -> None:
    shown = run_json(name, "debrief", "--no-notes")
    assert rows_wrong(shown["laps"], truth.session.laps.drop(columns="flags")) == []
    assert [w["text"] for w in shown["worth_trying"]] == [w.text for w in advice_of(name).items]
    track, found = truth.session.shared_track, run_json(name, "track")["track"]
    assert (found["length_m"], found["length_sd_m"]) == (track.length_m, track.length_sd_m)
    assert found["corners"] == len(track.corners)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("tables")


@pytest.fixture
def written(truth: Truth, name: str, folder: Path) -> Path:
    if not (folder / name).exists():
        write_tables(truth.session, folder / name)
    return folder / name


def _both(folder: Path, name: str) -> list[pd.DataFrame]:
    return [read_csv(folder / f"{name}.csv"), pd.read_parquet(folder / f"{name}.parquet")]


def _check(shown: pd.DataFrame, true: pd.DataFrame) -> None:
    """Every number of one is that of the other, row by row, in columns of the same names."""
    assert len(shown) == len(true)
    for column in true:
        if pd.api.types.is_numeric_dtype(true[column]):
            ours, theirs = (t[column].to_numpy(dtype=np.float64) for t in (shown, true))
            assert np.array_equal(ours, theirs, equal_nan=True), column
        else:
            assert [_text(v) for v in shown[column]] == [_text(v) for v in true[column]], column


def _text(value: object) -> str:
    """A name may be a number, in a file of numbers and texts."""
    if isinstance(value, float):
        return "" if np.isnan(value) else f"{value:.15g}"
    return str(value)


def test_files_of_laps(truth: Truth, written: Path) -> None:
    laps = truth.session.laps
    for shown in _both(written, "laps"):
        plain = laps.drop(columns=["flags", "sectors_s", "sector_sds_s"])
        _check(shown[list(plain)], plain)
        assert [str(f) if isinstance(f, str) else "" for f in shown["flags"]] == [
            " ".join(f) for f in laps["flags"]
        ]
        for k in range(1 + len(truth.session.track.sectors)):
            for column, of in (("time", "sectors_s"), ("time_sd", "sector_sds_s")):
                true = np.array([row[k] for row in laps[of]], dtype=np.float64)
                mine = shown[f"sector_{k + 1}_{column}_s"].to_numpy(dtype=np.float64)
                assert np.array_equal(mine, true, equal_nan=True)
        _check(shown[["gap_s", "gap_sd_s"]], truth.gaps)


def test_files_of_corners_and_runs(truth: Truth, written: Path) -> None:
    passes = truth.session.passes
    grip: dict[Any, Any] = by_run(truth.session.grip.passes)
    for shown in _both(written, "passes"):
        _check(shown[list(passes)], passes)
        for run, row in by_run(shown).items():
            for column in ("grip_braking", "grip_middle", "grip_exit"):
                true = grip[run][column] if run in grip else np.nan
                assert np.array_equal([row[column]], [true], equal_nan=True), (run, column)
    for shown in _both(written, "corners"):
        _check(shown, truth.session.corners)


def test_files_of_the_comparison(truth: Truth, written: Path) -> None:
    c = truth.comparison
    assert (written / "delta.csv").exists() == (written / "ledger.csv").exists() == (c is not None)
    if c is None:
        return
    for name, true in (("delta", c.delta), ("ledger", c.ledger)):
        for shown in _both(written, name):
            _check(shown[list(true)], true)
            assert set(shown["lap"]) == {c.lap}
            assert set(shown["reference"]) == {c.reference}


def test_files_of_findings_and_what_is_worth_trying(truth: Truth, written: Path) -> None:
    items, findings = advice_in_words(truth.session).items, truth.session.findings
    for shown in _both(written, "worth_trying"):
        assert len(shown) == len(items)
        for row, item in zip(shown.to_dict("records"), items, strict=True):
            assert all(same(value, getattr(item, str(key))) for key, value in row.items())
    for shown in _both(written, "findings"):
        assert list(shown["count"]) == [f.count for f in findings]
        assert list(shown["message"]) == [f.message for f in findings]
        for text, finding in zip(shown["lines"], findings, strict=True):
            parts = [part.split("-") for part in _text(text).split(", ") if part[:1].isdigit()]
            assert [(int(p[0]), int(p[-1])) for p in parts] == [tuple(p) for p in finding.lines]
