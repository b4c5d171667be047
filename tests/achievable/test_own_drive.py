"""The car's own acceleration, from laps made by hand."""

import numpy as np
import pytest

from lapwright.achievable.own_drive import OwnDrive, on_throttle, own_drive
from lapwright.achievable.usual_line import UsualLine
from lapwright.achievable.zones import Zones

TRACTION, POWER, DRAG = 4.5, 120.0, 6e-4


def straight_out_of_a_corner(laps: int = 3) -> tuple[UsualLine, Zones]:
    """Accelerate from 12 m/s by the law, step by step, then fall back at once."""
    step = np.full(400, 2.0)
    square = [144.0]
    for _ in step[1:]:
        speed = np.sqrt(square[-1])
        square.append(square[-1] + 4.0 * (min(TRACTION, POWER / speed) - DRAG * square[-1]))
    speed = np.sqrt(np.array(square))
    along = np.minimum(TRACTION, POWER / speed) - DRAG * speed**2

    def every(values: np.ndarray) -> np.ndarray:
        return np.tile(values, (laps, 1))

    line = UsualLine(
        np.arange(laps), np.arange(400) * 2.0, step, np.zeros(400), every(step / speed),
        every(step), every(speed), every(along), every(0.0 * speed),
    )  # fmt: skip
    index = np.array([0])
    return line, Zones(index, np.array([-1]), index, np.array([5]))


def test_the_law_is_found_again() -> None:
    line, zones = straight_out_of_a_corner()
    found = own_drive(line, zones, np.array([9.0]))
    assert found is not None
    speed = np.linspace(13.0, 45.0, 9)
    true = np.minimum(TRACTION, POWER / speed) - DRAG * speed**2
    fitted = found.push_mps2(speed**2) - found.drag_per_m * speed**2
    # The speed at which power takes over is one of a few that are tried.
    assert fitted == pytest.approx(true, abs=0.12)


def test_a_car_that_never_accelerates_has_none() -> None:
    line, zones = straight_out_of_a_corner()
    still = np.zeros_like(line.accel_long_mps2)
    object.__setattr__(line, "accel_long_mps2", still)
    assert own_drive(line, zones, np.array([9.0])) is None


def test_push_is_grip_below_and_power_above() -> None:
    drive = OwnDrive(4.0, 100.0, 0.0)
    assert drive.push_mps2(np.array([100.0, 2500.0])) == pytest.approx([4.0, 2.0])


def test_waiting_is_not_accelerating() -> None:
    # Five steps at 0, then at full: the first 0.3 s of it, three steps of 0.08 s, are left out.
    along = np.array([[0.0] * 5 + [4.0] * 10])
    square = np.array([[100.0] * 5 + list(np.linspace(101.0, 200.0, 10))])
    on = on_throttle(along, np.full((1, 15), 0.08), square)
    assert on[0].nonzero()[0].tolist() == list(range(8, 15))
