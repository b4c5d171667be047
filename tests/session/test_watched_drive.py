"""What a session says of the car: by its limits, and empty without sensors."""

from pathlib import Path

import pytest
from car_worlds import simulated
from worlds import World

import lapwright as lw
from lapwright import simulate as sim
from lapwright.columns import names
from lapwright.columns.car import CAR
from lapwright.notes.limits import Limit


def test_a_log_without_sensors_says_nothing(world: World) -> None:
    session = world.session.with_limits([Limit("battery", low=12.0)])
    assert session.car.empty
    assert list(session.car) == names(CAR)
    assert session.car_warnings == ()
    # Nor does it complain of limits: it has no column of the car at all.
    assert session.limits_not_held == ()


def test_other_limits_leave_all_else_as_it_is() -> None:
    _, _, session = simulated(sim.CarSensors(), laps=3)
    assert session.limits == ()
    assert session.car["beyond_s"].isna().all()
    strict = session.with_limits([Limit("oil_pressure", low=9.0), Limit("boost", high=2.0)])
    assert strict.laps is session.laps
    assert [w.code for w in strict.car_warnings] == ["limit"]
    oil = strict.car[strict.car["kind"] == "oil_pressure"]
    # All of the lap is below 9 bar.
    whole = strict.laps.set_index("lap")["time_s"].dropna()
    beyond = oil.set_index("lap")["beyond_s"].reindex(whole.index)
    assert beyond.to_numpy() == pytest.approx(whole.to_numpy(), abs=0.11)
    assert len(strict.limits_not_held) == 1
    assert session.car["beyond_s"].isna().all()
    # Notes are another matter.
    assert strict.with_notes(lw.LogNotes(conditions="wet")).limits == strict.limits
    assert strict.with_notes(lw.LogNotes(first_lap=5)).limits == strict.limits


def test_limits_come_from_the_notes_beside_the_log(tmp_path: Path) -> None:
    _, recording, _ = simulated(sim.CarSensors(), laps=3)
    style = sim.CsvStyle(headers=(
        ("time", "time (s)"), ("lat_deg", "latitude"), ("lon_deg", "longitude"),
        ("speed_mps", "speed (km/h)"), ("battery_v", "battery (V)"),
    ))  # fmt: skip
    sim.write_csv(recording, tmp_path / "a.csv", style)
    (tmp_path / "weekend.toml").write_text("[limits]\nbattery = { min = 15 }\n", encoding="utf-8")
    session = lw.open_session(tmp_path / "a.csv", repeat_line=False)
    assert session.limits == (Limit("battery", low=15.0),)
    (one,) = session.car_warnings
    assert (one.code, one.kind, one.unit, one.level) == ("limit", "battery", "V", 15.0)
    # An error in them is one here, with the file.
    (tmp_path / "weekend.toml").write_text("[limits]\nbattery = 15\n", encoding="utf-8")
    with pytest.raises(lw.NotesError, match=r"weekend\.toml.*limits\.battery"):
        lw.open_session(tmp_path / "a.csv")
