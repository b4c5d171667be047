"""Stations against the truth: receivers with 1 m of drift, and everything that can confuse them."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright import simulate as sim
from lapwright.geometry import MapMatch, ReferencePath, map_match

# Along the track, beside the receiver's own error. [m]
MAX_M = 1.0

SLOW = replace(sim.ORDINARY, rate_hz=1.0, drift_m=1.0)
FAST = replace(sim.ORDINARY, rate_hz=10.0, drift_m=1.0)

SCENES = {
    "hairpin and pit lane": ("wren_hollow", sim.Plan((2, 2))),
    "spins": ("wren_hollow", sim.Plan((3,), events=(sim.Spin(2, 3), sim.Spin(3, station_m=-5.0)))),
    "off and back": ("wren_hollow", sim.Plan((3,), events=(sim.Off(2, 5, wide_m=20.0),))),
    "straights 8 m apart": ("parallel", sim.Plan((3,), events=(sim.Off(2, 1, wide_m=8.0),))),
    "crossover": ("eight", sim.Plan((3,))),
    "short cuts": ("wren_hollow", sim.Plan((3,), events=(sim.ShortCut(2, 6), sim.ShortCut(3, 8)))),
}


@pytest.mark.parametrize("receiver", [SLOW, FAST], ids=["1 Hz", "10 Hz"])
@pytest.mark.parametrize("scene", SCENES)
def test_station_is_true_to_a_metre_and_the_receivers_error(scene, receiver) -> None:
    name, plan = SCENES[scene]
    circuit = sim.invented(name)
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), plan, seed=5)
    fixes = sim.receive(run, receiver, seed=6).fixes
    time_s = fixes["stamp_s"].to_numpy()
    east_m, north_m = circuit.to_plane(fixes[["lat_deg", "lon_deg"]].to_numpy()).T
    path = ReferencePath(circuit.east_m, circuit.north_m)
    found = map_match(path, time_s, east_m, north_m)

    true_m = run.position(time_s)
    own_m = np.hypot(east_m - true_m[:, 0], north_m - true_m[:, 1])
    # Inside a bend a metre beside the car is 1 / (1 - offset * curvature) metres of station.
    progress_m = run.progress(time_s)
    bend = np.abs(path.at(progress_m).curvature_per_m)
    spread = np.clip(1.0 - np.abs(found.offset_m) * bend, 0.3, 1.0)
    error_m = found.station_m - progress_m
    error_m -= path.length_m * np.round(np.median(error_m) / path.length_m)
    assert np.max(np.abs(error_m) - own_m / spread) < MAX_M
    assert not found.lost.any()


def drifting(count: int, seed: int) -> np.ndarray:
    """Errors of fixes a tenth of a second apart: 0.3 m white and 1 m of drift over 200 s."""
    rng = np.random.default_rng(seed)
    keep = np.exp(-0.1 / 200.0)
    drift = [rng.normal(0.0, 1.0, 2)]
    for _ in range(count - 1):
        drift.append(keep * drift[-1] + rng.normal(0.0, np.sqrt(1 - keep**2), 2))
    return np.array(drift) + rng.normal(0.0, 0.3, (count, 2))


def followed(path: ReferencePath, points_m: np.ndarray, shift_m: float, seed: int) -> MapMatch:
    """Follow points a tenth of a second apart as a receiver sees them."""
    time_s = np.arange(len(points_m)) / 10.0
    velocity = np.gradient(points_m, time_s, axis=0)
    seen = points_m + drifting(len(points_m), seed) + [0.0, shift_m]
    return map_match(path, time_s, seen[:, 0], seen[:, 1], velocity)


def off_by_m(found: MapMatch, true_m: np.ndarray, path: ReferencePath) -> np.ndarray:
    """Error of the stations, whole laps aside."""
    error_m = found.station_m - true_m
    return np.abs(np.mod(error_m + path.length_m / 2, path.length_m) - path.length_m / 2)


@pytest.mark.parametrize("shift_m", [0.0, 4.0])
@pytest.mark.parametrize("turns_at_m", [100.0, 200.0, 300.0])
def test_turning_round_onto_the_straight_8_m_beside(narrow, turns_at_m, shift_m) -> None:
    # On the first straight, of 400 m, a turn of radius 4 m onto the one that runs back, and on
    # along it in its own direction: the middle of it lies half a lap on.
    length_m = narrow.length_m
    before_m = np.arange(-600.0, turns_at_m, 2.0)
    onto_m = length_m / 2 + 400.0 - turns_at_m
    after_m = np.arange(onto_m, onto_m + 1500.0, 2.0)
    there = np.stack(narrow.beside(before_m, 0.0), axis=1)
    back = np.stack(narrow.beside(after_m, 0.0), axis=1)
    middle = (there[-1] + back[0]) / 2
    angle = np.linspace(0.0, np.pi, 8)[1:-1]
    arm = (there[-1] - middle)[0] + 1j * (there[-1] - middle)[1]
    arc = arm * np.exp(1j * angle)
    turn = middle + np.stack([arc.real, arc.imag], axis=1)
    for seed in range(3):
        found = followed(narrow, np.concatenate([there, turn, back]), shift_m, seed)
        begin, end = len(there) - 6, len(there) + len(turn) + 6
        off_m = off_by_m(found, np.concatenate([before_m, np.zeros(len(turn)), after_m]), narrow)
        # Twelve metres before and after the turn the station is where the car is.
        assert off_m[:begin].max() < 5.0 + shift_m
        assert off_m[end:].max() < 5.0 + shift_m


@pytest.mark.parametrize("shift_m", [0.0, 4.0])
@pytest.mark.parametrize("back_m", [60.0, 120.0, 300.0])
def test_driving_backwards_beside_a_straight_that_runs_that_way(narrow, back_m, shift_m) -> None:
    station_m = np.concatenate(
        [
            np.arange(-600.0, 350.0, 2.0),
            np.arange(350.0, 350.0 - back_m, -1.0),
            np.arange(350.0 - back_m, 1500.0, 2.0),
        ]
    )
    for seed in range(3):
        points = np.stack(narrow.beside(station_m, 0.0), axis=1)
        found = followed(narrow, points, shift_m, seed)
        assert off_by_m(found, station_m, narrow).max() < 5.0 + shift_m
