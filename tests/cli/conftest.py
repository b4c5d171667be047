"""A small simulated log on its circuit, and the command line to run on it."""

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from cli_runs import Files, Run, RunJson
from click.testing import CliRunner, Result

from lapwright import settings
from lapwright import simulate as sim
from lapwright.cli import cli


@pytest.fixture(scope="session")
def files(tmp_path_factory: pytest.TempPathFactory) -> Files:
    """Four timed laps at 5 Hz, speed and course logged."""
    folder = tmp_path_factory.mktemp("cli")
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((4,)), seed=3)
    recording = sim.receive(run, replace(sim.ORDINARY, rate_hz=5.0), seed=4)
    sim.write_csv(recording, folder / "friday.csv")
    sim.write_track(circuit, folder / "track.geojson")
    return Files(folder / "friday.csv", folder / "track.geojson")


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user's configuration folder of the test's own, and an empty track library."""
    file = tmp_path / "config" / "lapwright.toml"
    monkeypatch.setattr(settings, "user_file", lambda: file)
    monkeypatch.setattr("lapwright.cli.printing.say.user_file", lambda: file)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return file


@pytest.fixture
def run() -> Run:
    """Run a command; stdout and stderr apart."""

    def call(*arguments: object) -> Result:
        return CliRunner().invoke(cli, [str(a) for a in arguments])

    return call


@pytest.fixture
def run_json(run: Run) -> RunJson:
    """Run a command with --json and read what it writes, which must be one object."""

    def call(*arguments: object) -> Mapping[str, Any]:
        result = run(*arguments, "--json")
        assert result.exit_code == 0, result.stderr
        document = json.loads(result.stdout, parse_constant=pytest.fail)
        assert isinstance(document, dict)
        return document

    return call
