"""Logs at any depth and in archives, each with a name of its own; results of ours are none."""

import gzip
import json
import zipfile
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from lapwright.batch import logs_in, run_weekend
from lapwright.batch.folder import led_out, names_in, without_copies
from lapwright.cli import cli

FIXES = "time_s,lat,lon\n0.0,1.0,2.0\n0.2,1.1,2.1\n"


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """Logs in folders, hidden ones, and the results of earlier runs."""
    folder = tmp_path / "tree"
    for name in ("b.csv", "day 2/a.csv", "day 2/late/a.csv", ".trash/c.csv", "day 2/.c.csv"):
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(FIXES + name)
    for name, head in (("results", "session,log,track,driver"), ("t/tables", "lap,kind,complete")):
        (folder / name).mkdir(parents=True)
        (folder / name / "laps.csv").write_text(f"{head},more\n")
        (folder / name / "corners.csv").write_text("corner,name\n")
    return folder


def test_folders_in_the_folder(tree: Path) -> None:
    found = logs_in(tree)
    assert [p.relative_to(tree).as_posix() for p in found] == [
        "b.csv", "day 2/a.csv", "day 2/late/a.csv"
    ]  # fmt: skip
    # A log may be called so.
    (tree / "t" / "laps.csv").write_text(FIXES)
    assert tree / "t" / "laps.csv" in logs_in(tree)


def test_names(tree: Path) -> None:
    (tree / "b.gpx").touch()
    named = names_in(logs_in(tree), tree)
    assert list(named.values()) == [
        ("b.csv", "b.csv"), ("b.gpx", "b.gpx"), ("day 2/a", "day 2/a.csv"),
        ("day 2/late/a", "day 2/late/a.csv"),
    ]  # fmt: skip
    assert names_in([Path("friday.csv.gz")], Path()) == {
        Path("friday.csv.gz"): ("friday", "friday.csv.gz")
    }


def test_archives(tree: Path) -> None:
    with zipfile.ZipFile(tree / "card.zip", "w") as packed:
        packed.writestr("LOGS/run.csv", FIXES)
        packed.writestr("LOGS/b.csv", (tree / "b.csv").read_text())
        packed.writestr("readme.md", "x")
        packed.writestr("../out.csv", FIXES)
    (tree / "cut.zip").write_bytes((tree / "card.zip").read_bytes()[:50])
    names = [log for _, log in names_in(logs_in(tree), tree).values()]
    assert names[:4] == ["b.csv", "card.zip/LOGS/b.csv", "card.zip/LOGS/run.csv", "cut.zip"]
    assert led_out(tree) == [
        "card.zip: files whose names lead out of the archive are not read, such as '../out.csv'"
    ]
    # The same log, packed and beside.
    kept, copies = without_copies(logs_in(tree))
    assert copies == ((tree / "card.zip" / "LOGS" / "b.csv", tree / "b.csv"),)
    assert len(kept) == len(logs_in(tree)) - 1


@pytest.fixture
def nested(folder: Path) -> Path:
    """One log in a folder with its notes, one in an archive in another; a cut archive."""
    day = folder / "day 1"
    day.mkdir()
    (folder / "friday.csv").rename(day / "run.csv")
    (day / "weekend.toml").write_text('[logs."run.csv"]\ndriver = "Runa Tidewell"\n')
    with zipfile.ZipFile(folder / "card.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.write(folder / "saturday.csv", "LOGS/run.csv")
        packed.writestr("/out.csv", FIXES)
    (folder / "saturday.csv").unlink()
    (folder / "weekend.toml").write_text(
        '[logs."card.zip/LOGS/run.csv"]\ndriver = "Ivo Marlen"\nfirst_lap = 11\n'
    )
    (folder / "cut.zip").write_bytes((folder / "card.zip").read_bytes()[:5000])
    return folder


def test_a_weekend_of_folders_and_archives(nested: Path) -> None:
    (nested / "track.geojson").rename(nested / "day 1" / "track.geojson")
    before = {f: f.read_bytes() for f in nested.rglob("*") if f.is_file()}
    said = CliRunner().invoke(
        cli, ["weekend", str(nested), "--repeat-line", "off", "--workers", "1"]
    )
    assert said.exit_code == 3, said.output
    assert "cut.zip: this ZIP archive is damaged" in " ".join(said.stdout.split())
    assert "card.zip: files whose names lead out of the archive" in said.stderr
    laps = pd.read_csv(nested / "results" / "laps.csv")
    drivers = laps.groupby("session")["driver"].unique().map(list).to_dict()
    assert drivers == {"card.zip/LOGS/run": ["Ivo Marlen"], "day 1/run": ["Runa Tidewell"]}
    assert set(laps["log"]) == {"card.zip/LOGS/run.csv", "day 1/run.csv"}
    timed = laps[(laps["session"] == "card.zip/LOGS/run") & (laps["kind"] == "timed")]
    assert list(timed["lap"]) == [11, 12, 13]
    assert all(file.read_bytes() == data for file, data in before.items())
    # The results of this run are no logs of the next.
    again = run_weekend(nested, repeat_line=False, workers=1)
    assert (again.kept, again.failed) == (2, 1)
    one = CliRunner().invoke(cli, ["laps", str(nested / "card.zip/LOGS/run.csv"), "--json",
                                   "--track", str(nested / "day 1" / "track.geojson")])  # fmt: skip
    assert one.exit_code == 0, one.output
    assert [lap["lap"] for lap in json.loads(one.stdout)["laps"] if lap["kind"] == "timed"] == [
        11, 12, 13
    ]  # fmt: skip


def test_a_packed_log_and_the_same_unpacked_count_once(tmp_path: Path) -> None:
    text = (FIXES * 9).encode()
    packed = gzip.compress(text)
    for name, data in (
        ("run.csv", text), ("run.csv.gz", packed), ("late.csv.gz", packed),
        ("cut.csv.gz", packed[:-9]), ("other.csv.gz", gzip.compress(text + b"x")),
    ):  # fmt: skip
        (tmp_path / name).write_bytes(data)
    kept, copies = without_copies(sorted(tmp_path.iterdir()))
    assert [path.name for path in kept] == ["cut.csv.gz", "late.csv.gz", "other.csv.gz"]
    assert [(a.name, b.name) for a, b in copies] == [
        ("run.csv", "late.csv.gz"), ("run.csv.gz", "late.csv.gz"),
    ]  # fmt: skip
