"""A folder with two small simulated logs on one circuit."""

from dataclasses import replace
from pathlib import Path

import pytest

from lapwright import simulate as sim


@pytest.fixture(scope="session")
def two_logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two sessions of three laps at 5 Hz, and the circuit's lines."""
    folder = tmp_path_factory.mktemp("weekend")
    circuit = sim.invented("wren_hollow")
    for seed, name in ((21, "friday.csv"), (31, "saturday.csv")):
        run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((3,)), seed=seed)
        recording = sim.receive(run, replace(sim.ORDINARY, rate_hz=5.0), seed=seed + 1)
        sim.write_csv(recording, folder / name)
    sim.write_track(circuit, folder / "track.geojson")
    return folder


@pytest.fixture
def folder(two_logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the folder that a test may change, an empty track library, nothing kept yet."""
    monkeypatch.setenv("LAPWRIGHT_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    target = tmp_path / "weekend"
    target.mkdir()
    for file in two_logs.iterdir():
        (target / file.name).write_bytes(file.read_bytes())
    return target
