"""
The same input gives the same bytes, whatever surrounds the run.

The same commands are run in environments that differ in all that they may: the seed of hashes,
locale, time zone, date of today, workers, cache, order in which a folder lists its files, and where
the run is started from.  Each environment is one process, whose files and stdout are kept for all
that is asserted.
"""

import hashlib
import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pyarrow.parquet as pq
import pytest

import lapwright
from lapwright import simulate as sim

# Made once, in one process.
pytestmark = [pytest.mark.xdist_group("same_bytes"), pytest.mark.thorough]

SOURCE = str(Path(lapwright.__file__).parents[1])

# Run in a process of its own: commands in, their stdout out.
DRIVER = """
import datetime, json, os, random, sys, time
from pathlib import Path
later_s, turn_round, commands = json.loads(sys.argv[1])
here_s = time.time
time.time = lambda: here_s() + later_s
if turn_round:
    scandir, listdir = os.scandir, os.listdir

    class Reversed:
        def __init__(self, path):
            self.all = iter(sorted(scandir(path), key=lambda entry: entry.name)[::-1])

        def __enter__(self):
            return self

        def __exit__(self, *_):
            pass

        def __iter__(self):
            return self

        def __next__(self):
            return next(self.all)

        def close(self):
            pass

    os.scandir = lambda path=".": Reversed(path)
    os.listdir = lambda path=".": sorted(listdir(path))[::-1]
if __name__ == "__main__":
    from click.testing import CliRunner
    from lapwright.cli import cli
    out = []
    for command in commands:
        done = CliRunner().invoke(cli, command)
        assert done.exit_code == 0, (command, done.output, done.exception)
        out.append([done.stdout, done.stderr])
    Path("said.json").write_text(json.dumps(out), encoding="utf-8")
"""
OFF = ("--repeat-line", "off")
# Where the folder of the logs is seen from elsewhere, it is named in another way.
ENVIRONMENTS = {
    "plain": ({"PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C.UTF-8"}, 0.0, False, 1, "off"),
    "opposite": (
        {
            "PYTHONHASHSEED": "4242", "TZ": "Pacific/Auckland", "LC_ALL": "C", "LANGUAGE": "tr:de",
            "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0",
        },
        40_000_000.0, True, 2, "cache",
    ),
}  # fmt: skip


def _commands(out: Path, workers: int) -> list[list[str]]:
    log, track = "logs/friday.gpx", ("--track", "logs/track.geojson")
    said = [[one, log, *track, *OFF, "--json"] for one in ("laps", "corners", "race", "debrief")]
    said += [
        ["compare", log, "2", *track, *OFF, "--json"], ["check", log],
        ["laps", log, *track, *OFF], ["debrief", log, *track, *OFF],
        ["report", log, *track, *OFF, "--out", f"{out}/r.html", "--pdf", f"{out}/r.pdf", "--tables",
         f"{out}/tables"],
        ["captions", log, *track, *OFF, "--line-at", "3:00", "--out", f"{out}/c.vtt", "--out",
         f"{out}/c.srt"],
        ["track", log, *track, *OFF, "--out", f"{out}/t.geojson", "--map", f"{out}/m.svg"],
        ["align", log, "logs/friday.gpx", "--out", f"{out}/a.csv", "--json"],
        ["weekend", "logs", "--out", f"{out}/results", *OFF, "--workers", str(workers), "--report",
         "--json"],
        # Warm, where there is a cache.
        ["laps", log, *track, *OFF, "--json"],
    ]  # fmt: skip
    return said


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """One folder for each environment, with all that was made there."""
    circuit = sim.invented("wren_hollow")
    folders = {}
    first = tmp_path_factory.mktemp("logs")
    for seed, name in ((3, "friday.gpx"), (8, "saturday.gpx")):
        run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((3,)), seed=seed)
        sim.write_gpx(sim.receive(run, replace(sim.ORDINARY, rate_hz=1.0), seed=4), first / name)
    sim.write_track(circuit, first / "track.geojson")
    # Times of the day are shown in the zone of the circuit, where one is noted.
    notes = (
        'timezone = "Europe/Berlin"\n[logs."friday.gpx"]\ndriver = "Rúna"\n'
        '[logs."saturday.gpx"]\ndriver = "Ivo"\n'
    )
    (first / "weekend.toml").write_text(notes, encoding="utf-8")
    for name, (environment, later_s, turned, workers, cache) in ENVIRONMENTS.items():
        place = tmp_path_factory.mktemp(name)
        (place / "logs").mkdir()
        (place / "out").mkdir()
        for file in sorted(first.iterdir(), reverse=turned):
            (place / "logs" / file.name).write_bytes(file.read_bytes())
        driver = place / "driver.py"
        driver.write_text(DRIVER, encoding="utf-8")
        asked = json.dumps([later_s, turned, _commands(Path("out"), workers)])
        done = subprocess.run(
            [sys.executable, str(driver), asked], cwd=place, check=False, capture_output=True,
            env={
                **os.environ, "PYTHONPATH": SOURCE, "OPENBLAS_NUM_THREADS": "1",
                "LAPWRIGHT_CACHE": "off" if cache == "off" else str(place / cache),
                "XDG_DATA_HOME": str(place / "data"), "XDG_CONFIG_HOME": str(place / "config"),
                "MPLBACKEND": "agg", **environment,
            },
        )  # fmt: skip
        assert done.returncode == 0, done.stderr.decode(errors="replace")[-2000:]
        folders[name] = place
    return folders


def _bytes(place: Path, below: str) -> dict[str, str]:
    """Digest of every file below; of Parquet what is in it, for its writer names itself."""
    found = {}
    for file in sorted((place / below).rglob("*")):
        if file.is_file() and file.suffix == ".parquet":
            table = pq.read_table(file)
            found[str(file.relative_to(place))] = f"{table.schema}{table.to_pydict()}"
        elif file.is_file():
            found[str(file.relative_to(place))] = hashlib.sha256(file.read_bytes()).hexdigest()
    return found


def test_what_is_written_is_the_same(made: dict[str, Path]) -> None:
    one, other = (_bytes(place, "out") for place in made.values())
    assert {Path(name).suffix for name in one} >= {
        ".html", ".pdf", ".csv", ".parquet", ".vtt", ".srt", ".svg", ".geojson",
    }  # fmt: skip
    assert list(one) == list(other)
    assert [name for name in one if one[name] != other[name]] == []


def test_what_is_said_is_the_same(made: dict[str, Path]) -> None:
    one, other = (json.loads((place / "said.json").read_text("utf-8")) for place in made.values())
    commands = _commands(Path("out"), 1)
    assert [commands[k] for k in range(len(one)) if one[k] != other[k]] == []


def test_the_notes_are_the_same(made: dict[str, Path]) -> None:
    one, other = (_bytes(place, "logs") for place in made.values())
    assert one == other
