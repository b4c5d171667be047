"""
Logs that are no drive on a circuit: one clear line, or an honest empty answer, from each command.

A car that stands, a straight road, positions that jump: what each of them once ended in was a
traceback from deep inside.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import lapwright as lw
from lapwright.cli import cli

# Made once, in one process.
pytestmark = pytest.mark.xdist_group("no_drive")

RNG = np.random.default_rng(4)
K = np.arange(400)
# Four times round an oval of 600 m at 5 Hz: half axes 128 and 56 m.
ANGLE = K * 2 * np.pi / 100
EAST, NORTH = 128 * np.cos(ANGLE), 56 * np.sin(ANGLE)
EAST, NORTH = EAST + RNG.normal(0, 0.2, 400), NORTH + RNG.normal(0, 0.2, 400)
TIME = K / 5.0
STILL = np.zeros(400)
FAR = np.where(K % 2, 90_000.0, 0.0)
# Times, east, north and speed, as many fixes as there are; None where no speed is logged.
DRIVES = {
    "two fixes": (TIME[:2], EAST[:2], NORTH[:2], None),
    "five fixes": (TIME[:5], EAST[:5], NORTH[:5], None),
    "a car that stands": (TIME, STILL, STILL, STILL),
    "a car that stands, in noise": (TIME, *RNG.normal(0, 1, (2, 400)), None),
    "positions that stand, a speed that does not": (TIME, STILL, STILL, STILL + 25),
    "a straight road": (TIME, TIME * 20, STILL, STILL + 20),
    "less than a lap": (TIME[:60], EAST[:60], NORTH[:60], None),
    "positions that jump": (TIME, *RNG.uniform(-9e4, 9e4, (2, 400)), STILL + 20),
    "every other position far off": (TIME, EAST + FAR, NORTH, None),
    "half of it elsewhere": (TIME, EAST + np.where(K > 200, 9e4, 0), NORTH, None),
    "fixes too far apart": (TIME * 20, EAST, NORTH, None),
    "fixes too close": (TIME / 300, EAST / 60, NORTH / 60, None),
    "a speed of one fix": (TIME, EAST, NORTH, np.where(K == 7, 25.0, np.nan)),
    "three days apart": (TIME + np.where(K > 200, 3 * 86_400, 0), EAST, NORTH, None),
}
COMMANDS = (
    ["check"], ["laps"], ["debrief", "--no-notes"], ["corners"], ["race"], ["compare", "1"],
    ["captions", "--video-start", "0"],
)  # fmt: skip


def write(path: Path, drive: tuple) -> Path:
    time_s, east_m, north_m, speed_mps = drive
    lines = ["time,lat,lon" + (",speed (m/s)" if speed_mps is not None else "")]
    for k, (time, east, north) in enumerate(zip(time_s, east_m, north_m, strict=True)):
        line = f"{1.7e9 + time:.4f},{48 + north / 111_320:.7f},{7 + east / 74_488:.7f}"
        if speed_mps is not None:
            line += "," if np.isnan(speed_mps[k]) else f",{speed_mps[k]:.2f}"
        lines.append(line)
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.fixture(scope="module")
def oval(tmp_path_factory) -> Path:
    """The track file of the oval, so that the commands get past the search for a circuit."""
    folder = tmp_path_factory.mktemp("oval")
    log = lw.read_log(write(folder / "good.csv", (TIME, EAST, NORTH, None)))
    track = lw.discover_track(log).track.renamed("Oval")
    lw.write_track(track, folder / "oval.geojson")
    return folder / "oval.geojson"


@pytest.mark.parametrize("known", [True, False], ids=["track given", "track searched"])
@pytest.mark.parametrize(
    "drive",
    [pytest.param(d, marks=pytest.mark.thorough if k % 3 else ()) for k, d in enumerate(DRIVES)],
)
def test_each_command_ends_in_an_answer_or_one_clear_line(
    drive, known, oval, tmp_path, monkeypatch
) -> None:
    # Captions go beside you where no name is given.
    monkeypatch.chdir(tmp_path)
    log = write(tmp_path / "log.csv", DRIVES[drive])
    given = ["--track", str(oval)] if known else []
    for command in COMMANDS if known else COMMANDS[1:3]:
        name, *options = command
        arguments = [name, str(log), *options, "--json", *given]
        done = CliRunner().invoke(cli, arguments, catch_exceptions=False)
        assert done.exit_code in (0, 1), f"{command}: {done.output}"
        if done.exit_code == 0:
            json.loads(done.stdout)
        else:
            assert done.stdout == ""
            assert done.stderr.splitlines()[-1].startswith("lapwright: "), done.stderr
