import numpy as np
import pytest

from lapwright.discovery.corner_search.tight_bends import TIGHTEST_M
from lapwright.discovery.loop.find_loop import NoCircuitError, find_loop
from lapwright.geometry import ReferencePath

# The target for the length of a path averaged over noisy laps.
LENGTH_SHARE = 0.002


@pytest.mark.parametrize("name", ["lark_down", "eight"])
@pytest.mark.parametrize("rate_hz", [1.0, 10.0])
def test_length_and_place_of_an_averaged_path(circuits, drive, name, rate_hz) -> None:
    path = circuits[name]
    loop = find_loop(*drive(path, rate_hz=rate_hz))
    assert loop.ring.length_m == pytest.approx(path.length_m, rel=LENGTH_SHARE)
    # 1 m of drift with a memory of 200 s, over seven laps of a minute: its mean has an sd
    # of about 0.6 m an axis, and the worst place of a lap is not its mean.
    _, offset_m = path.project(loop.ring.east_m, loop.ring.north_m)
    assert np.sqrt(np.mean(offset_m**2)) < 1.2
    assert np.max(np.abs(offset_m)) < 3.0
    assert loop.rounds == pytest.approx(7.0, abs=0.1)
    # The direction is the one driven: headings agree all the way round.
    station_m, _ = path.project(loop.ring.east_m, loop.ring.north_m)
    turn = np.cos(path.at(station_m).heading_rad - loop.ring.heading_rad)
    assert np.median(turn) > 0.99


def test_no_bend_is_tighter_than_eight_metres(drive) -> None:
    # A kart track with a hairpin of 6 m, less than a reference path may have.
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    path = ReferencePath(120 * np.cos(angle), 26 * np.sin(angle))
    assert 1 / np.abs(path.at(path.stations(1.0)).curvature_per_m).max() < 6.0
    loop = find_loop(*drive(path, to_laps=12.0, rate_hz=10.0, fast_mps=20.0))
    smooth = ReferencePath(loop.ring.east_m, loop.ring.north_m)
    assert 1 / np.abs(smooth.at(smooth.stations(0.5)).curvature_per_m).max() >= TIGHTEST_M


def test_a_way_there_and_back_is_no_circuit(drive) -> None:
    # Up and down a road of 800 m, 4 times, keeping to the right by 1.5 m.
    rng = np.random.default_rng(3)
    up = np.stack([np.arange(0, 800.0, 5.0), 30 * np.sin(np.arange(0, 800.0, 5.0) / 150)], axis=1)
    side = np.array([0.0, 1.5])
    way = np.concatenate([up - side, up[::-1] + side] * 4)
    way += rng.normal(0, 0.7, way.shape)
    with pytest.raises(NoCircuitError, match="both directions"):
        find_loop(np.arange(len(way)) * 0.5, way[:, 0], way[:, 1])


def test_a_drive_that_never_comes_back_is_no_circuit() -> None:
    t = np.arange(0, 300.0, 0.2)
    with pytest.raises(NoCircuitError, match="never comes back"):
        find_loop(t, 20 * t, 200 * np.sin(t / 40))


def test_a_parked_car_is_no_circuit() -> None:
    rng = np.random.default_rng(5)
    t = np.arange(0, 600.0, 0.1)
    with pytest.raises(NoCircuitError, match="hardly moved"):
        find_loop(t, rng.normal(0, 1.0, len(t)), rng.normal(0, 1.0, len(t)))


def test_a_few_fixes_are_too_few() -> None:
    with pytest.raises(NoCircuitError, match="only 5 usable fixes"):
        find_loop(np.arange(5.0), np.zeros(5), np.zeros(5))


def resampled(points: list, speed_mps: float, rate_hz: float, seed: int = 0):
    """Fixes along a polyline at constant speed, with 0.5 m of white noise."""
    way = np.array(points, dtype=float)
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(way, axis=0).T))]
    s = np.arange(0.0, along[-1], speed_mps / rate_hz)
    noise = np.random.default_rng(seed).normal(0.0, 0.5, (2, len(s)))
    east, north = np.interp(s, along, way[:, 0]), np.interp(s, along, way[:, 1])
    return np.arange(len(s)) / rate_hz, east + noise[0], north + noise[1]


def test_a_slalom_is_no_circuit() -> None:
    x = np.arange(0, 120.0, 2.0)
    out = np.stack([x, 2.5 * np.sin(x / 9 * np.pi)], axis=1)
    angle = np.linspace(0, np.pi, 12)
    turn = np.stack([120 + 8 * np.sin(angle), 8 - 8 * np.cos(angle)], axis=1)
    back = np.stack([x[::-1], 16 - 2.5 * np.sin(x[::-1] / 9 * np.pi)], axis=1)
    home = np.stack([-8 * np.sin(angle), 8 + 8 * np.cos(angle)], axis=1)
    with pytest.raises(NoCircuitError, match=r"manoeuvring, no circuit"):
        find_loop(*resampled([*out, *turn, *back, *home] * 5, 8.0, 5.0))


def test_circles_on_the_spot_are_no_circuit() -> None:
    angle = np.arange(0, 40 * np.pi, 0.1)
    circle = list(np.stack([15 * np.cos(angle), 15 * np.sin(angle)], axis=1))
    with pytest.raises(NoCircuitError, match="no circuit"):
        find_loop(*resampled(circle, 8.0, 5.0))


def test_a_hill_climb_driven_thrice_is_no_circuit() -> None:
    x = np.arange(0, 2500.0, 5.0)
    road = np.stack([x, 150 * np.sin(x / 200)], axis=1)
    side = np.array([0.0, 1.5])
    way = [*(road - side), *(road[::-1] + side)] * 3
    with pytest.raises(NoCircuitError, match="both directions"):
        find_loop(*resampled(way, 20.0, 5.0))


@pytest.mark.parametrize(("laps", "found"), [(0.9, False), (1.1, False), (1.5, True), (2.2, True)])
def test_a_lap_and_a_half_is_a_circuit_and_a_lap_alone_is_not(circuits, drive, laps, found) -> None:
    path = circuits["lark_down"]
    trace = drive(path, from_laps=0.0, to_laps=laps)
    if not found:
        with pytest.raises(NoCircuitError, match=r"no laps|too little"):
            find_loop(*trace)
        return
    loop = find_loop(*trace)
    assert loop.rounds == pytest.approx(laps, abs=0.1)
    # Two metres of drift are 0.1 % of this lap.
    assert loop.ring.length_m == pytest.approx(path.length_m, rel=0.003)


def test_spikes_holes_and_a_frozen_receiver_do_no_harm(circuits, drive) -> None:
    path = circuits["lark_down"]
    trace = drive(path, rate_hz=10.0)
    rng = np.random.default_rng(9)
    for k in rng.integers(50, len(trace.time_s) - 50, 15):
        trace.east_m[k] += rng.normal(0, 60.0)
        trace.north_m[k] += rng.normal(0, 60.0)
    trace.east_m[-1], trace.north_m[-1] = 4.0e6, -8.0e5
    for k in rng.integers(200, len(trace.time_s) - 200, 3):
        trace.east_m[k : k + 20], trace.north_m[k : k + 20] = trace.east_m[k], trace.north_m[k]
    keep = rng.random(len(trace.time_s)) > 0.05
    keep[1200:1260] = False
    loop = find_loop(trace.time_s[keep], trace.east_m[keep], trace.north_m[keep])
    assert loop.ring.length_m == pytest.approx(path.length_m, rel=LENGTH_SHARE)


def test_an_odd_lap_does_not_pull_the_path(circuits, drive) -> None:
    # One lap of seven off the road by 10 m for 100 m.
    path = circuits["lark_down"]
    trace = drive(path, drift_m=0.3)
    station = trace.true_station_m - 3 * path.length_m
    off = (station > 250) & (station < 400)
    trace.east_m[off] += 10.0 * np.sin((station[off] - 250) / 150 * np.pi)
    loop = find_loop(*trace)
    near, offset_m = path.project(loop.ring.east_m, loop.ring.north_m)
    there = (near > 250) & (near < 400)
    # A plain mean would be off by 1.4 m there.
    assert np.abs(offset_m[there]).max() < 0.7


def test_paddock_and_road_before_the_laps_are_left_out(circuits, drive) -> None:
    path = circuits["lark_down"]
    trace = drive(path)
    # A kilometre of road to the circuit, and ten minutes parked.
    gate = path.at(-0.4 * path.length_m)
    t = np.arange(0, 700.0, 0.2)
    far = np.clip(1000.0 - 20.0 * np.maximum(t - 600.0, 0.0), 0.0, None)
    rng = np.random.default_rng(2)
    east = np.r_[float(gate.east_m) + 0.8 * far + rng.normal(0, 0.5, len(t)), trace.east_m]
    north = np.r_[float(gate.north_m) - 0.6 * far + rng.normal(0, 0.5, len(t)), trace.north_m]
    loop = find_loop(np.r_[t, trace.time_s + 700.2], east, north)
    assert loop.ring.length_m == pytest.approx(path.length_m, rel=LENGTH_SHARE)
    assert loop.rounds == pytest.approx(7.0, abs=0.2)
