"""What the debrief says of the car, on the screen and as JSON."""

from pathlib import Path

import pytest
from car_worlds import simulated
from cli_runs import Run, RunJson
from json_schemas import DEBRIEF
from jsonschema import Draft202012Validator

from lapwright import simulate as sim
from lapwright.wording.car import HEADING, NO_DIAGNOSIS

CHANNELS = (
    ("time", "time (s)"), ("lat_deg", "latitude"), ("lon_deg", "longitude"),
    ("speed_mps", "speed (km/h)"), ("course_deg", "course"), ("rpm", "rpm"),
    ("oil_pressure_bar", "oil pressure (bar)"), ("water_temp_c", "water temp (°C)"),
)  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("car")
    sensors = sim.CarSensors(dead=(("water_temp_c", 300.0, "held"),))
    run, recording, _ = simulated(sensors, laps=4)
    sim.write_csv(recording, out / "a.csv", sim.CsvStyle(headers=CHANNELS))
    sim.write_track(run.circuit, out / "track.geojson")
    limits = "[limits]\noil_pressure = { min = 4.0, above_rpm = 4000 }\nbattery = { min = 12 }\n"
    (out / "weekend.toml").write_text(limits, encoding="utf-8")
    return out


def test_the_screen_has_one_short_block(folder: Path, run: Run) -> None:
    result = run("debrief", folder / "a.csv", "--track", folder / "track.geojson", "--no-notes")
    assert result.exit_code == 0, result.stderr
    out = result.stdout
    block = out[out.index(HEADING) :].partition("\n\n")[0]
    assert len(block.splitlines()) < 14
    assert max(map(len, block.splitlines())) <= 80
    said = " ".join(block.split())
    assert "Oil pressure was below your limit of 4 bar above 4000 rpm for" in said
    assert 'Water temperature (column "water temp (°C)") stands at' in said
    assert "were not checked: no column for 'battery'" in said
    assert NO_DIAGNOSIS in said
    # Above what is worth trying: the car comes first.
    assert out.index(HEADING) < out.index("Worth trying")


def test_json(folder: Path, run_json: RunJson) -> None:
    track = folder / "track.geojson"
    document = run_json("debrief", folder / "a.csv", "--track", track, "--no-notes")
    Draft202012Validator(DEBRIEF).validate(document)
    codes = [one["code"] for one in document["car_warnings"]]
    assert codes == ["limit", "sensor_died"]
    assert {row["channel"] for row in document["car"]} == {
        "rpm", "oil pressure (bar)", "water temp (°C)"
    }  # fmt: skip
    assert len(document["limits_not_checked"]) == 1


def test_wrong_limits_are_one_line_with_the_file(folder: Path, run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes((folder / "a.csv").read_bytes())
    (tmp_path / "weekend.toml").write_text("[limits]\nrpm = 7000\n", encoding="utf-8")
    result = run("debrief", tmp_path / "a.csv", "--track", folder / "track.geojson")
    assert result.exit_code == 1
    assert result.stdout == ""
    assert "weekend.toml" in result.stderr
    assert "'limits.rpm' should be" in result.stderr
