"""A folder in, one table of all laps out; bad files stop nothing, reruns do only what changed."""

import json
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from json_schemas import WEEKEND
from jsonschema import Draft202012Validator

from lapwright.batch import left_out, logs_in, run_weekend
from lapwright.batch.folder import without_copies
from lapwright.batch.worker import Result
from lapwright.cli import cli
from lapwright.discovery import complete_track, discover_track
from lapwright.errors import LogError, TrackError
from lapwright.geometry import read_track, write_track
from lapwright.ingest import read_log

NOTES = """
[logs."friday.csv"]
driver = "Runa Tidewell"
conditions = "dry"
[logs."saturday.csv"]
driver = "Ivo Marlen"
changes = ["softer rear bar", "new pads"]
first_lap = 11
"""


def test_a_weekend(folder: Path) -> None:
    (folder / "weekend.toml").write_text(NOTES)
    (folder / "broken.csv").write_bytes(bytes(range(256)) * 30)
    (folder / "empty.gpx").touch()
    seen: dict[str, Result] = {}
    options = {"track": folder / "track.geojson", "repeat_line": False, "workers": 1}
    weekend = run_weekend(folder, progress=lambda p, r: seen.update({p.name: r}), **options)
    # Listed with the reason, and stopping nothing.
    assert weekend.failed == 2
    status = dict(zip(weekend.sessions["path"].map(lambda p: Path(p).name),
                      weekend.sessions["status"], strict=True))  # fmt: skip
    assert status == {"broken.csv": "failed", "empty.gpx": "failed", "friday.csv": "ok",
                      "saturday.csv": "ok"}  # fmt: skip
    reasons = weekend.sessions.set_index("status")["reason"]
    assert reasons["failed"].map(len).gt(10).all()
    assert set(seen) == set(status)
    # One table of every lap, with the notes.
    laps = pd.read_csv(folder / "results" / "laps.csv")
    assert len(laps) == len(weekend.laps) == 10
    assert set(laps["driver"]) == {"Runa Tidewell", "Ivo Marlen"}
    assert (laps.loc[laps["session"] == "saturday", "changes"] == "softer rear bar; new pads").all()
    timed = laps[laps["kind"] == "timed"]
    assert list(timed.loc[timed["session"] == "saturday", "lap"]) == [11, 12, 13]
    sectors = timed[["sector_1_s", "sector_2_s", "sector_3_s"]].sum(axis=1)
    assert sectors.to_numpy() == pytest.approx(timed["time_s"].to_numpy(), abs=1e-6)
    # Best and median a session, against the table itself.
    for session, mine in timed.groupby("session"):
        row = weekend.sessions[weekend.sessions["path"].str.contains(str(session))].iloc[0]
        clean = mine.loc[mine["representative"], "time_s"]
        assert row["best_lap_s"] == pytest.approx(mine["time_s"].min(), abs=1e-9)
        assert row["median_s"] == pytest.approx(clean.median(), abs=1e-9)


def test_parquet_says_the_same_as_csv(folder: Path) -> None:
    pytest.importorskip("pyarrow", reason="the extra 'parquet' is not installed")
    weekend = run_weekend(folder, track=folder / "track.geojson", repeat_line=False, workers=1)
    assert [f.suffix for f in weekend.files] == [".csv", ".parquet"] * 5
    for name in ("laps", "sessions", "sectors", "passes", "findings"):
        table = pd.read_parquet(weekend.out / f"{name}.parquet")
        assert len(table) or name == "findings"
        pd.testing.assert_frame_equal(table, getattr(weekend, name), check_dtype=False)


def test_without_pyarrow_there_is_csv(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    weekend = run_weekend(folder, track=folder / "track.geojson", repeat_line=False, workers=1)
    assert [f.suffix for f in weekend.files] == [".csv"] * 5


def test_running_again_does_only_what_changed(folder: Path) -> None:
    options = {"track": folder / "track.geojson", "repeat_line": False, "workers": 1}
    first = run_weekend(folder, **options)
    assert (first.done, first.kept) == (2, 0)
    written = {f: f.stat().st_mtime_ns for f in first.files}
    again = run_weekend(folder, **options)
    assert (again.done, again.kept) == (0, 2)
    pd.testing.assert_frame_equal(again.laps, first.laps)
    assert {f: f.stat().st_mtime_ns for f in again.files} == written
    # A changed log is looked at again, the other is not.
    log = folder / "friday.csv"
    log.write_text("".join(log.read_text().splitlines(keepends=True)[:-20]))
    changed = run_weekend(folder, **options)
    assert (changed.done, changed.kept) == (1, 1)
    # Other notes need no new look at the logs; other numbers of the laps do.
    (folder / "weekend.toml").write_text('[logs."friday.csv"]\ndriver = "Runa Tidewell"\n')
    noted = run_weekend(folder, **options)
    assert (noted.done, noted.kept) == (0, 2)
    assert "Runa Tidewell" in set(noted.laps["driver"])


def test_damaged_keepings_are_made_anew(folder: Path) -> None:
    options = {"track": folder / "track.geojson", "repeat_line": False, "workers": 1}
    first = run_weekend(folder, **options)
    for file in (folder.parent / "cache").iterdir():
        file.write_text("{")
    again = run_weekend(folder, **options)
    assert (again.done, again.kept) == (2, 0)
    pd.testing.assert_frame_equal(again.laps, first.laps)


def test_the_circuit_is_found_once_for_all(folder: Path) -> None:
    (folder / "track.geojson").unlink()
    weekend = run_weekend(folder, repeat_line=False, workers=1)
    assert weekend.failed == 0
    assert weekend.sessions["track"].nunique() == 1
    assert len(list((weekend.out / "circuits").iterdir())) == 1
    again = run_weekend(folder, repeat_line=False, workers=1)
    assert (again.done, again.kept) == (0, 2)


def test_lines_beside_the_logs_are_completed_once(folder: Path) -> None:
    weekend = run_weekend(folder, repeat_line=False, workers=1)
    assert weekend.failed == 0
    kept = list((weekend.out / "circuits").iterdir())
    assert len(kept) == 1
    assert kept[0].name.startswith("track-")
    whole = read_track(kept[0])
    assert whole.path is not None
    assert len(weekend.notes) == 1
    assert "track.geojson has only the start and sector lines" in weekend.notes[0]
    assert set(weekend.sessions["track"]) == {whole.name}
    # The same as if it had been given, but for the results' folder.
    given = run_weekend(
        folder, folder / "given", track=folder / "track.geojson", repeat_line=False, workers=1
    )
    assert given.laps["time_s"].to_numpy() == pytest.approx(
        weekend.laps["time_s"].to_numpy(), nan_ok=True
    )
    again = run_weekend(folder, repeat_line=False, workers=1)
    assert (again.done, again.kept, again.notes) == (0, 2, ())
    # Another file beside the logs is another question.
    (folder / "track.geojson").unlink()
    changed = run_weekend(folder, repeat_line=False, workers=1)
    assert (changed.done, changed.kept) == (2, 0)


def test_a_whole_file_beside_the_logs_is_taken_for_all(folder: Path) -> None:
    lines, log = read_track(folder / "track.geojson"), read_log(folder / "saturday.csv")
    whole = complete_track(lines, log)
    write_track(whole.renamed("Mine"), folder / "whole.geojson")
    weekend = run_weekend(folder, repeat_line=False, workers=1)
    assert set(weekend.sessions["track"]) == {"Mine"}
    # The lines are not completed once more.
    assert not list((weekend.out / "circuits").iterdir())
    said = (
        "whole.geojson is taken before track.geojson, of the same circuit; give --track to choose"
    )
    assert weekend.notes == (said,)
    # Of two whole files it is the same one for all logs, wherever their lines are.
    moved = whole.with_start_line_at_station(700.0).renamed("Other")
    write_track(moved, folder / "other.geojson")
    weekend = run_weekend(folder, repeat_line=False, workers=1)
    assert set(weekend.sessions["track"]) == {"Other"}
    assert "other.geojson is taken before whole.geojson, track.geojson" in weekend.notes[0]


def test_what_else_lies_beside_the_logs(folder: Path) -> None:
    text = (folder / "track.geojson").read_text()
    (folder / "cut.geojson").write_text(text[:-40])
    (folder / "map.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    weekend = run_weekend(folder, repeat_line=False, workers=1)
    assert weekend.failed == 0
    assert len(weekend.notes) == 2
    assert "cut.geojson:" in weekend.notes[0]
    assert "map.geojson" not in "".join(weekend.notes)


def test_a_library_by_name_comes_first(folder: Path, tmp_path: Path) -> None:
    library = tmp_path / "tracks"
    library.mkdir()
    found = discover_track(read_log(folder / "friday.csv"), "Hollow by name").track
    write_track(found, library / "hollow.geojson")
    (library / "cut.geojson").write_text("{")
    weekend = run_weekend(folder, tracks=library, repeat_line=False, workers=1)
    assert set(weekend.sessions["track"]) == {"Hollow by name"}
    assert any("cut.geojson:" in one for one in weekend.notes)
    with pytest.raises(TrackError, match="there is no such folder"):
        run_weekend(folder, tracks=tmp_path / "none")


def test_a_log_without_a_circuit_is_listed(folder: Path) -> None:
    rows = [f"{k},{47.0 + 2e-4 * k:.7f},8.0\n" for k in range(400)]
    (folder / "road.csv").write_text("time (s),latitude,longitude\n" + "".join(rows))
    weekend = run_weekend(folder, repeat_line=False, workers=1)
    assert weekend.failed == 1
    assert weekend.sessions.set_index("status")["reason"]["failed"]


def test_logs_are_never_written_to(folder: Path) -> None:
    before = {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()}
    run_weekend(folder, track=folder / "track.geojson", repeat_line=False, workers=1)
    assert {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in before} == before


def test_engine_channels_are_in_a_table_of_their_own(folder: Path) -> None:
    log = folder / "friday.csv"
    lines = log.read_text().splitlines()
    # The header is the line before the first of numbers.
    first = next(k for k, line in enumerate(lines) if line[:1].isdigit())
    lines[first - 1] += ",Water temp (degC)"
    lines[first:] = [f"{line},{80 + 5 * (k % 3)}" for k, line in enumerate(lines[first:])]
    log.write_text("\n".join(lines) + "\n")
    (folder / "weekend.toml").write_text(NOTES)
    options = {"track": folder / "track.geojson", "repeat_line": False, "workers": 1}
    weekend = run_weekend(folder, **options)
    table = pd.read_csv(weekend.out / "engine.csv")
    mine = table[table["channel"].str.contains("Water")]
    assert set(mine["session"]) == {"friday"}
    assert set(mine["driver"]) == {"Runa Tidewell"}
    assert set(mine["unit"]) == {"degC"}
    assert len(mine) == (weekend.laps["session"] == "friday").sum()
    # 80, 85 and 90 in turn.
    assert (mine["lowest"] == 80).all()
    assert (mine["highest"] == 90).all()
    assert mine["mean"].to_numpy() == pytest.approx(85.0, abs=0.1)
    # Kept from run to run like the laps.
    again = run_weekend(folder, **options)
    assert again.done == 0
    pd.testing.assert_frame_equal(again.engine, weekend.engine)
    assert weekend.sessions["drift_s_per_lap"].notna().all()


NOTES_OF_A_DAY = """Friday, dry, 14 degrees, wind from the west.
Front 1.9 bar, rear 2.0 bar, cold. After the run 2.2 2.2 2.3 2.3 bar.
10:30 out, 11:00 in. Ask Ivo about corner 4.
"""


def test_a_text_that_is_no_log_is_left_out_and_fails_nothing(folder: Path) -> None:
    (folder / "notes.txt").write_text(NOTES_OF_A_DAY)
    (folder / "copying.log").write_text("copied friday.csv\ncopied saturday.csv\ndone\n")
    # A log may be called anything, and one that is empty or damaged has to be named.
    (folder / "sunday.txt").write_bytes((folder / "friday.csv").read_bytes())
    (folder / "fixes.log").write_text(
        "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n"
    )
    (folder / "empty.txt").touch()
    assert [p.name for p in left_out(folder)] == ["copying.log", "notes.txt"]
    assert [p.name for p in logs_in(folder)] == [
        "empty.txt", "fixes.log", "friday.csv", "saturday.csv", "sunday.txt"
    ]  # fmt: skip
    for name in ("sunday.txt", "fixes.log", "empty.txt"):
        (folder / name).unlink()
    command = ["weekend", str(folder), "--track", str(folder / "track.geojson"), "--road", "off",
               "--workers", "1"]  # fmt: skip
    shown = CliRunner().invoke(cli, command)
    assert shown.exit_code == 0
    assert "Not a log, left out: copying.log, notes.txt" in shown.stdout
    as_json = CliRunner().invoke(cli, [*command, "--json"])
    assert as_json.exit_code == 0
    assert "notes.txt: not a log, left out" in as_json.stderr
    assert len(json.loads(as_json.stdout)["sessions"]) == 2


def test_only_logs_are_looked_at(tmp_path: Path) -> None:
    for name in ("a.csv", "b.gpx.gz", "C.NMEA", "track.geojson", "photo.jpg", ".hidden.csv"):
        (tmp_path / name).touch()
    (tmp_path / "folder.csv").mkdir()
    assert [p.name for p in logs_in(tmp_path)] == ["C.NMEA", "a.csv", "b.gpx.gz"]


def test_a_folder_without_logs_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="no log in this folder"):
        run_weekend(tmp_path)


def test_the_command(folder: Path) -> None:
    (folder / "broken.csv").write_bytes(bytes(range(256)) * 30)
    command = ["weekend", str(folder), "--track", str(folder / "track.geojson"), "--road", "off",
               "--workers", "1", "--out", str(folder / "out")]  # fmt: skip
    result = CliRunner().invoke(cli, [*command, "--json"])
    # 3: a batch in which some files failed.
    assert result.exit_code == 3
    document = json.loads(result.stdout)
    assert not list(Draft202012Validator(WEEKEND).iter_errors(document))
    assert document["out"] == str(folder / "out")
    (folder / "broken.csv").unlink()
    shown = CliRunner().invoke(cli, command)
    assert shown.exit_code == 0
    assert "0 analysed now, 2 unchanged since last time" in shown.stdout
    assert max(map(len, shown.stdout.splitlines())) <= 80 + len(str(folder))


def test_a_log_that_lies_there_twice_counts_once(folder: Path) -> None:
    (folder / "weekend.toml").write_text(NOTES)
    # Before "friday.csv" by name; but that one has the notes.
    (folder / "a copy.csv").write_bytes((folder / "friday.csv").read_bytes())
    (folder / "almost.csv").write_bytes((folder / "saturday.csv").read_bytes() + b"\n")
    options = ["--track", str(folder / "track.geojson"), "--repeat-line", "off", "--workers", "1"]
    said = CliRunner().invoke(cli, ["weekend", str(folder), *options])
    assert said.exit_code == 0, said.output
    once = "a copy.csv is the same log as friday.csv, byte for byte, and is not counted again."
    assert once in " ".join(said.stdout.split())
    laps = pd.read_csv(folder / "results" / "laps.csv")
    assert set(laps["log"]) == {"friday.csv", "saturday.csv", "almost.csv"}
    assert set(laps.loc[laps["log"] == "friday.csv", "driver"]) == {"Runa Tidewell"}
    for_programs = CliRunner().invoke(cli, ["weekend", str(folder), *options, "--json"])
    assert once in for_programs.stderr
    assert len(json.loads(for_programs.stdout)["sessions"]) == 3


def test_empty_files_are_no_copies_of_each_other(folder: Path) -> None:
    for name in ("a.gpx", "b.gpx"):
        (folder / name).touch()
    kept, copies = without_copies(logs_in(folder))
    assert [path.name for path in kept] == ["a.gpx", "b.gpx", "friday.csv", "saturday.csv"]
    assert copies == ()
