"""What is said of the car: sentences with their numbers, and that they are no diagnosis."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from car_worlds import CORNERS

from lapwright.car.watch import CarWarning
from lapwright.geometry import Track
from lapwright.wording.car import NO_DIAGNOSIS, car_lines, car_warning_text

# A track of which only the corners are there.
TRACK = object.__new__(Track)
object.__setattr__(TRACK, "corners", CORNERS)
OIL = ("oil pressure [bar]", "oil_pressure", "bar")


def _said(warning: CarWarning, units: str = "km/h") -> str:
    return car_warning_text(warning, TRACK, units)


def test_a_limit() -> None:
    warning = CarWarning(
        "limit", *OIL, "below", 1.83, 0.04, level=2.0, above_rpm=3500.0, beyond_s=4.2,
        beyond_sd_s=0.3, laps=(2, 3, 4, 6), lap=3, time_s=300.0, station_m=1000.0, corner=1,
    )  # fmt: skip
    assert _said(warning) == (
        "Oil pressure was below your limit of 2 bar above 3500 rpm for 4.2 ± 0.3 s on "
        "laps 2 to 4 and 6; lowest 1.83 ± 0.04 bar on lap 3, 1000 m after the start "
        "line (nearest: Gatehouse (1))."
    )
    # 1000 m are 3281 ft: 0.3048 m to the foot.
    assert "3281 ft after the start line" in _said(warning, "mph,ft")


def test_oil_in_a_corner() -> None:
    warning = CarWarning(
        "oil_in_corner", *OIL, "", -0.42, 0.03, -0.5, -0.34, 4.2, laps=(1, 2), station_m=2100.0,
        corner=2,
    )  # fmt: skip
    assert _said(warning) == (
        "Oil pressure in corner 2 was lower by 0.42 bar (95 % interval 0.34 to 0.50) than on your "
        "straights at the same engine speed, where it was 4.20 bar; on laps 1 and 2, most about "
        "2100 m after the start line."
    )


def test_a_rise() -> None:
    warning = CarWarning("still_rising", "t", "oil_temperature", "°C", "", 2.04, 0.3, 1.6,
                         2.5, 118.31, laps=(5, 6, 7, 8))  # fmt: skip
    assert _said(warning) == (
        "Oil temperature was still rising at the end, by 2.0 °C a lap (95 % interval 1.6 to "
        "2.5) over the last 4 full laps; 118.3 °C on the last of them."
    )


@pytest.mark.parametrize(
    ("how", "value", "said"),
    [
        ("constant", 88.0, 'stands at 88 V from lap 6, 10:40 into the log to the end'),
        ("missing", float("nan"), "has no values from lap 6, 10:40 into the log to the end"),
        ("impossible", 0.2, "shows only impossible values, 0.2 V, from lap 6, 10:40 into the log"),
    ],
)  # fmt: skip
def test_a_dead_sensor(how: str, value: float, said: str) -> None:
    warning = CarWarning("sensor_died", "U1", "battery", "V", how, value, lap=6, time_s=640.0)
    text = _said(warning)
    assert text.startswith('Battery (column "U1") ')
    assert said in text
    assert text.endswith("the sensor may have died.")


def test_a_column_without_a_kind_goes_by_its_own_name() -> None:
    warning = CarWarning("sensor_died", "Boost", "pressure", "", "constant", 1.0, time_s=640.0)
    assert _said(warning).startswith('"Boost" stands at 1 from 10:40 into the log')


def _session(*warnings: CarWarning, not_held: tuple[str, ...] = ()) -> Any:
    return SimpleNamespace(
        car_warnings=warnings, track=TRACK, limits_not_held=not_held, path=Path("a")
    )


def test_several_corners_are_one_text_most_first() -> None:
    one, two = (
        CarWarning("oil_in_corner", *OIL, "", -lost, 0.03, -lost - 0.1, -lost + 0.1, 4.0 + lost,
                   corner=corner, laps=(1, 2))
        for corner, lost in ((1, 0.3), (2, 0.5))
    )  # fmt: skip
    assert car_lines(_session(one, two)) == (
        "Oil pressure was lower in long corners than on your straights at the same engine speed "
        "(there 4.3 to 4.5 bar): corner 2 by 0.50 bar (0.40 to 0.60), Gatehouse (1) by 0.30 bar "
        "(0.20 to 0.40); in brackets the 95 % interval.",
    )
    assert len(car_lines(_session(one))) == 1
    assert car_lines(_session()) == ()


def test_limits_that_were_not_checked_are_said() -> None:
    (said,) = car_lines(_session(not_held=("no column for 'battery' in this log",)))
    assert (
        said == "Limits in weekend.toml that were not checked: no column for 'battery' in this log."
    )


def test_it_says_that_it_is_no_diagnosis() -> None:
    assert "not a diagnosis" in NO_DIAGNOSIS
    assert "No warning does not mean that all is well" in NO_DIAGNOSIS
