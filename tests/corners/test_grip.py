"""Grip use against motions whose accelerations are known."""

import numpy as np
import pandas as pd
import pytest

from lapwright.corners.grip import find_envelope, grip_use
from lapwright.laps.lap_trace import LapTrace


def _trace(
    station: np.ndarray, speed: np.ndarray, along: np.ndarray, across: np.ndarray
) -> LapTrace:
    step = np.diff(station, prepend=station[0])
    time = np.cumsum(step / np.maximum(speed, 1.0))
    nothing = np.zeros(len(station))
    return LapTrace(
        1, float(time[0]), float(time[-1]), float(station[-1]), time, station, nothing, nothing,
        nothing, speed, along, across, nothing,
    )  # fmt: skip


def _corner() -> LapTrace:
    """Braking at 8 m/s2 from 40 to 20 m/s, a circle of 50 m radius at 20 m/s, driving at 3 m/s2."""
    # Braking distance (v0^2 - v1^2) / 2a = 1200 / 16 = 75 m; lateral v^2 / r = 8 m/s2.
    station = np.arange(0.0, 400.0, 0.5)
    speed, along, across = (np.zeros(len(station)) for _ in range(3))
    straight, braking, turning = station < 100, (station >= 100) & (station < 175), (
        (station >= 175) & (station < 275)
    )  # fmt: skip
    speed[straight] = 40.0
    speed[braking] = np.sqrt(40.0**2 - 16.0 * (station[braking] - 100.0))
    speed[turning] = 20.0
    out = station >= 275
    speed[out] = np.sqrt(20.0**2 + 6.0 * (station[out] - 275.0))
    along[braking], across[turning], along[out] = -8.0, 20.0**2 / 50.0, 3.0
    return _trace(station, speed, along, across)


PASSES = pd.DataFrame(
    {"lap": [1], "corner": [1], "brake_station_m": [100.0], "min_speed_station_m": [225.0]}
)
CORNERS = pd.DataFrame({"corner": [1], "exit_m": [330.0]})


def test_the_envelope_of_pure_braking_and_pure_cornering() -> None:
    t = _corner()
    envelope = find_envelope(t.accel_long_mps2, t.accel_lat_mps2, t.speed_mps)
    # Straight braking at -90 degrees, cornering at 0: 8 m/s2 both, as planted.
    braking = envelope.at(np.array([-1.0]), np.array([0.0]), np.array([30.0]))
    cornering = envelope.at(np.array([0.0]), np.array([-1.0]), np.array([20.0]))
    driving = envelope.at(np.array([1.0]), np.array([0.0]), np.array([25.0]))
    assert braking[0] == pytest.approx(8.0)
    assert cornering[0] == pytest.approx(8.0)
    assert driving[0] == pytest.approx(3.0)


def test_one_who_always_uses_the_envelope_uses_all_of_it() -> None:
    use = grip_use([_corner()], PASSES, CORNERS)
    row = use.corners.iloc[0]
    # Sampled every half metre: the first and last samples of a phase belong to its neighbours.
    assert row["grip_braking"] == pytest.approx(1.0, abs=0.02)
    assert row["grip_middle"] == pytest.approx(1.0, abs=0.02)
    assert row["grip_exit"] == pytest.approx(1.0, abs=0.02)


def test_a_pass_at_less_speed_uses_less() -> None:
    full = _corner()
    slow = _corner()
    # 10 % less speed on the same circle: 0.81 of the acceleration.
    across = np.where(slow.accel_lat_mps2 > 0, 0.81 * slow.accel_lat_mps2, 0.0)
    slow = _trace(slow.station_m, slow.speed_mps, slow.accel_long_mps2, across)
    slow = LapTrace(**{**slow.__dict__, "lap": 2})
    passes = pd.concat([PASSES, PASSES.assign(lap=2)], ignore_index=True)
    use = grip_use([full, full, full, slow], passes, CORNERS).passes.set_index("lap")
    assert use.loc[2, "grip_middle"] == pytest.approx(0.81, abs=0.02)
    assert use.loc[1, "grip_middle"] == pytest.approx(1.0, abs=0.02)


def test_no_braking_is_no_number() -> None:
    use = grip_use([_corner()], PASSES.assign(brake_station_m=np.nan), CORNERS)
    assert np.isnan(use.corners["grip_braking"].iloc[0])


def test_no_clean_lap() -> None:
    use = grip_use([], PASSES, CORNERS)
    assert use.passes.empty
    assert use.corners.empty
