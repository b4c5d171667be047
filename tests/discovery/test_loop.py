import numpy as np
import pytest

from lapwright.discovery.loop import NoCircuitError, find_loop
from lapwright.discovery.ring import TIGHTEST_M
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
