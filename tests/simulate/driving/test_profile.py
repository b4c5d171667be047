"""Speed profile against textbook kinematics."""

import numpy as np
import pytest

from lapwright.simulate.driving.profile import Limits, node_times, speed_profile


def _limits(count: int, **given: float | np.ndarray) -> Limits:
    values = {"lateral_mps2": 10.0, "braking_mps2": 9.0, "traction_mps2": 9.0}
    values |= {"power_wpkg": 1e9, "cap_mps": 1e3, "drag_per_m": 0.0}
    values |= given
    drag = float(values.pop("drag_per_m"))
    arrays = {k: np.broadcast_to(v, count).astype(float).copy() for k, v in values.items()}
    return Limits(**arrays, drag_per_m=drag)


@pytest.mark.parametrize(("decel", "printed"), [(7.0, 64.3), (5.0, 90.0)])
def test_braking_distance(decel: float, printed: float) -> None:
    # OpenStax University Physics 1, example 3.10 (section 3.4): from 30.0 m/s at 7.00 and
    # 5.00 m/s^2 a car needs 64.3 and 90.0 m (printed to three digits).
    step = np.full(400, 0.5)
    cap = np.full(401, 30.0)
    cap[-1] = 0.0
    speed = speed_profile(step, np.zeros(401), _limits(401, braking_mps2=decel, cap_mps=cap))
    way = np.r_[0.0, np.cumsum(step)]
    k = int(np.flatnonzero(speed[100:] < 30.0 - 1e-9)[0]) + 100
    # Between two nodes the onset follows from the speed at the second.
    distance = way[-1] - way[k] + (30.0**2 - speed[k] ** 2) / 2 / decel
    assert distance == pytest.approx(printed, abs=0.05)
    assert node_times(step[k:], speed[k:])[-1] == pytest.approx(speed[k] / decel, rel=1e-12)


def test_quarter_mile_of_a_dragster() -> None:
    # OpenStax University Physics 1, examples 3.8 and 3.9: 26.0 m/s^2 from rest for 5.56 s is
    # 402 m, and 145 m/s at the end.
    step = np.full(402, 1.0)
    cap = np.full(403, 1e3)
    cap[0] = 0.0
    speed = speed_profile(step, np.zeros(403), _limits(403, traction_mps2=26.0, cap_mps=cap))
    assert node_times(step, speed)[-1] == pytest.approx(5.56, abs=0.005)
    assert speed[-1] == pytest.approx(145, abs=0.5)


@pytest.mark.parametrize(
    ("radius", "speed", "share"), [(500.0, 25.0, 0.13), (182.9, 96.8 / 3.6, 0.40)]
)
def test_cornering_share_of_gravity(radius: float, speed: float, share: float) -> None:
    # OpenStax University Physics 1, section 6.3: 25.00 m/s on R 500.0 m needs v^2/(r g) = 0.13;
    # 96.8 km/h on R 182.9 m needs 0.40.
    found = speed_profile(
        np.full(50, 1.0), np.full(51, 1 / radius), _limits(51, lateral_mps2=share * 9.80665)
    )
    # The share is printed to two digits: half of the last one is 1 % (or 4 %) of the speed.
    assert found[25] == pytest.approx(speed, rel=0.005 / share / 2 + 1e-3)


def test_top_speed_and_constant_power() -> None:
    # Terminal speed: P/m = k v^3.  Without drag: v^2 grows by 2 P/m a second.
    step = np.full(9000, 1.0)
    cap = np.full(9001, 1e3)
    cap[0] = 20.0
    fast = speed_profile(
        step, np.zeros(9001), _limits(9001, power_wpkg=120.0, drag_per_m=6e-4, cap_mps=cap)
    )
    assert fast[-1] == pytest.approx((120.0 / 6e-4) ** (1 / 3), rel=1e-3)
    free = speed_profile(step, np.zeros(9001), _limits(9001, power_wpkg=120.0, cap_mps=cap))
    clock = node_times(step, free)
    k = 2000
    # Constant acceleration over each metre of constant power: good to 1e-3 here.
    assert free[k] ** 2 - 400 == pytest.approx(2 * 120.0 * clock[k], rel=1e-3)


def test_friction_ellipse_holds() -> None:
    station = np.arange(400.0)
    kappa = 0.02 * np.exp(-0.5 * ((station - 200) / 30) ** 2)
    speed = speed_profile(np.ones(399), kappa, _limits(400, cap_mps=60.0, power_wpkg=150.0))
    along = np.diff(speed**2) / 2
    across = (speed**2 * kappa)[1:]
    use = (along / 9.0) ** 2 + (across / 10.0) ** 2
    # A metre's step and the floor of the ellipse leave some per cent.
    assert use.max() < 1.08
    assert use[np.argmax(kappa)] > 0.95


def test_a_car_that_never_arrives() -> None:
    with pytest.raises(ValueError, match="stands still from node 1"):
        node_times(np.ones(3), np.array([1.0, 0.0, 0.0, 1.0]))
