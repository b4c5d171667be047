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


def test_the_envelope_is_what_is_reached_one_moment_in_twenty() -> None:
    # Cornering forces evenly from 0 to 10 m/s2 at every speed: 95 in 100 lie below 9.5.
    force = np.tile(np.linspace(0.0, 10.0, 1001), 8)
    speed = np.repeat(np.linspace(20.0, 40.0, 8), 1001)
    envelope = find_envelope(np.zeros(len(force)), force, speed)
    for at in (20.0, 30.0, 40.0):
        got = envelope.at(np.zeros(1), np.ones(1), np.array([at]))
        assert got[0] == pytest.approx(9.5, abs=0.01), at


def test_the_envelope_grows_with_speed_where_the_driver_reaches_more() -> None:
    # A force of a fifth of the speed, speeds evenly from 20 to 60 m/s: bands end at 30, 40 and 50,
    # and 95 in 100 of the first lie below a fifth of 29.5 m/s.
    speed = np.linspace(20.0, 60.0, 4001)
    envelope = find_envelope(np.zeros(4001), 0.2 * speed, speed)
    np.testing.assert_allclose(envelope.speed_mps, [25.0, 35.0, 45.0, 55.0], atol=1e-9)
    at = np.array([20.0, 25.0, 30.0, 35.0, 52.5, 60.0])
    expected = [5.9, 5.9, 6.9, 7.9, 11.4, 11.9]
    np.testing.assert_allclose(envelope.at(0 * at, 1 + 0 * at, at), expected, atol=0.01)


def test_between_two_directions_the_envelope_lies_between_them() -> None:
    # 4 m/s2 in every direction up to 7.5 degrees forward, 8 m/s2 beyond; sectors are 15 degrees
    # apart and 30 wide.  At 30 degrees all is 8; at 0 mostly 4, so 95 in 100 decide.
    angle = np.deg2rad(np.linspace(-90.0, 90.0, 36001))
    size = np.where(np.rad2deg(angle) < 20.0, 4.0, 8.0)
    speed = np.tile([20.0, 30.0, 40.0], 12001)[:36001]
    envelope = find_envelope(size * np.sin(angle), size * np.cos(angle), speed)

    def at(degrees: float) -> float:
        a = np.deg2rad([degrees])
        return float(envelope.at(np.sin(a), np.cos(a), np.array([30.0]))[0])

    assert envelope.direction_deg.tolist() == list(range(-90, 91, 15))
    # The sector about 0 reaches to 15 degrees, that about 15 to 30.
    assert at(0.0) == pytest.approx(4.0)
    assert at(15.0) == pytest.approx(8.0)
    assert at(5.0) == pytest.approx(4.0 + 4.0 / 3.0)
    assert at(-90.0) == pytest.approx(4.0)
    assert at(90.0) == pytest.approx(8.0)


def test_a_cell_with_few_moments_takes_the_nearest_band_that_has_enough() -> None:
    # Braking at 9 m/s2 on 29 moments at 50 m/s, at 6 m/s2 on many at 25 m/s; cornering at all.
    n = 4000
    speed = np.concatenate([np.linspace(20.0, 60.0, n), np.full(29, 50.0), np.full(200, 25.0)])
    along = np.concatenate([np.zeros(n), np.full(29, -9.0), np.full(200, -6.0)])
    across = np.concatenate([np.full(n, 7.0), np.zeros(229)])
    envelope = find_envelope(along, across, speed)
    braking = envelope.at(-np.ones(4), np.zeros(4), np.array([20.0, 30.0, 50.0, 60.0]))
    np.testing.assert_allclose(braking, 6.0)
    # Nobody drove forward: that takes the nearest direction that has enough, which is cornering.
    assert envelope.at(np.ones(1), np.zeros(1), np.array([30.0]))[0] == pytest.approx(7.0)


def test_thirty_moments_are_enough() -> None:
    # One more, and 29 of them spread over all bands so that no band alone has thirty.
    n = 4000
    speed = np.concatenate([np.linspace(20.0, 60.0, n), np.linspace(20.0, 60.0, 30)])
    along = np.concatenate([np.zeros(n), np.full(30, -9.0)])
    across = np.concatenate([np.full(n, 7.0), np.zeros(30)])
    at = np.array([30.0])
    assert find_envelope(along, across, speed).at(-np.ones(1), np.zeros(1), at)[0] == 9.0
    fewer = find_envelope(along[:-1], across[:-1], speed[:-1])
    assert fewer.at(-np.ones(1), np.zeros(1), at)[0] == 7.0


def _cornering(lap: int, force: np.ndarray, station: np.ndarray) -> LapTrace:
    """At a steady 20 m/s, a lap from 0 to 400 m."""
    steady = np.full(len(station), 20.0)
    trace = _trace(station, steady, np.zeros(len(station)), force)
    return LapTrace(**{**trace.__dict__, "lap": lap, "length_m": 400.0})


def test_each_phase_has_its_own_share() -> None:
    station = np.arange(0.0, 400.0, 0.25)
    # From the braking point (100 m) to 15 m before the slowest (225 m), 15 m about it, and on to
    # the corner's end (330 m): a quarter, all and half of what is reached; nothing elsewhere.
    force = np.select(
        [station < 100, station < 210, station < 240, station < 330], [0.0, 2.0, 8.0, 4.0], 0.0
    )
    full = _cornering(2, np.full(len(station), 8.0), station)
    passes = pd.concat([PASSES, PASSES.assign(lap=2)], ignore_index=True)
    row = grip_use([_cornering(1, force, station), full], passes, CORNERS).passes.iloc[0]
    assert row["grip_braking"] == pytest.approx(0.25)
    assert row["grip_middle"] == pytest.approx(1.0)
    assert row["grip_exit"] == pytest.approx(0.5)


def test_the_envelope_is_that_of_the_laps_themselves() -> None:
    # Before and behind the lap, on another lap's road, twice as much.
    station = np.arange(-200.0, 600.0, 0.25)
    force = np.where((station >= 0.0) & (station <= 400.0), 8.0, 16.0)
    row = grip_use([_cornering(1, force, station)], PASSES, CORNERS).passes.iloc[0]
    assert row["grip_middle"] == pytest.approx(1.0)


def test_a_corner_has_the_middle_of_its_laps_and_only_of_clean_ones() -> None:
    station = np.arange(0.0, 400.0, 0.25)
    traces = [
        _cornering(lap, np.full(len(station), force), station)
        for lap, force in ((1, 8.0), (2, 8.0), (3, 0.8))
    ]
    # Lap 4 has a pass but was not clean: no trace.
    passes = pd.concat([PASSES.assign(lap=lap) for lap in (1, 2, 3, 4)], ignore_index=True)
    use = grip_use(traces, passes, CORNERS)
    assert use.passes["lap"].tolist() == [1, 2, 3]
    assert use.passes["grip_middle"].tolist() == pytest.approx([1.0, 1.0, 0.1])
    assert use.corners["grip_middle"].tolist() == pytest.approx([1.0])


def test_a_car_that_asks_next_to_nothing_is_not_at_its_limit() -> None:
    # Never more than 0.4 m/s2: by the envelope alone that would be all of it.
    station = np.arange(0.0, 400.0, 0.25)
    row = grip_use([_cornering(1, np.full(len(station), 0.4), station)], PASSES, CORNERS)
    assert row.passes["grip_middle"].iloc[0] == pytest.approx(0.4)
