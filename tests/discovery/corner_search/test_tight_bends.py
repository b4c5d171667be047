from itertools import pairwise

import numpy as np
import pytest

from lapwright.discovery.corner_search.tight_bends import TIGHTEST_M, limit_bends
from lapwright.discovery.loop.ring import Ring, ring_from_points
from lapwright.geometry.path import ReferencePath


def tightest_m(ring: Ring) -> float:
    """Smallest radius of the spline through a ring's points."""
    path = ReferencePath(ring.east_m, ring.north_m)
    return float(1 / np.abs(path.at(path.stations(0.5)).curvature_per_m).max())


def away_m(eased: Ring, ring: Ring) -> np.ndarray:
    """Distance of the points of an eased ring from the ring."""
    path = ReferencePath(ring.east_m, ring.north_m)
    return np.abs(path.project(eased.east_m, eased.north_m)[1])


def stadium(apart_m: float, straight_m: float = 200.0) -> Ring:
    """Two straights beside each other, joined by half circles; curvature softened over 3 m."""
    radius = apart_m / 2
    angle = np.arange(0, np.pi, 0.5 / radius)
    along = np.arange(0, straight_m, 0.5)
    east = np.r_[along, straight_m + radius * np.sin(angle), along[::-1], -radius * np.sin(angle)]
    north = np.r_[
        np.full(len(along), -radius),
        -radius * np.cos(angle),
        np.full(len(along), radius),
        radius * np.cos(angle),
    ]
    wave = np.fft.fftfreq(len(east), 0.5)
    shape = np.fft.ifft(np.fft.fft(east + 1j * north) * np.exp(-2 * (np.pi * wave * 3.0) ** 2))
    return ring_from_points(shape.real, shape.imag)


def test_a_sharp_end_is_eased_and_the_rest_stays() -> None:
    angle = np.linspace(0, 2 * np.pi, 300, endpoint=False)
    ring = ring_from_points(200 * np.cos(angle), 36 * np.sin(angle))
    # Radius at the ends of an ellipse: b^2 / a = 6.48 m.
    assert 1 / np.abs(ring.curvature_per_m).max() == pytest.approx(36**2 / 200, rel=0.02)
    eased = limit_bends(ring)
    assert tightest_m(eased) >= TIGHTEST_M
    assert away_m(eased, ring).max() < 0.5
    assert away_m(eased, ring)[np.abs(eased.east_m) < 120].max() < 0.01
    # A line that keeps to the ring keeps its length: cutting the ends off would take metres.
    assert eased.length_m == pytest.approx(ring.length_m, rel=1e-3)
    # What is wide enough already is left alone.
    assert limit_bends(eased) is eased


@pytest.mark.parametrize("apart_m", [8.0, 10.0, 12.0, 14.0])
def test_a_hairpin_narrower_than_the_limit_swings_out(apart_m) -> None:
    ring = stadium(apart_m)
    assert tightest_m(ring) < 7.0
    eased = limit_bends(ring)
    assert tightest_m(eased) >= TIGHTEST_M
    # Half a turn at the limit is 8 m - apart / 2 wider on either side, if the car may not cut:
    # no point needs to be farther off than that, or than the end pulled in by as much.
    assert away_m(eased, ring).max() < TIGHTEST_M - apart_m / 2 + 1.0
    # The straights do not notice.
    middle = np.abs(eased.east_m - 100.0) < 30.0
    assert np.abs(np.abs(eased.north_m[middle]) - apart_m / 2).max() < 0.01


def test_a_tip_too_sharp_is_not_cut_more_than_an_arc_cuts_it() -> None:
    # A triangle of 45 + 45 + 90 degrees, its tips softened over 5 m.
    ends = np.array([0.0, 400.0, 400.0 + 400.0j])
    sides = pairwise([*ends, ends[0]])
    points = np.concatenate([np.arange(0, 1, 0.5 / abs(b - a)) * (b - a) + a for a, b in sides])
    wave = np.fft.fftfreq(len(points), 0.5)
    shape = np.fft.ifft(np.fft.fft(points) * np.exp(-2 * (np.pi * wave * 5.0) ** 2))
    ring = ring_from_points(shape.real, shape.imag)
    assert tightest_m(ring) < 5.0
    eased = limit_bends(ring)
    assert tightest_m(eased) >= TIGHTEST_M
    # An arc of radius R that rounds off a turn by t saves R (2 tan(t/2) - t): here 45 m of
    # 800 + 400 sqrt(2) m with arcs of 8.5 m.
    turns = np.deg2rad([135.0, 135.0, 90.0])
    saved_m = float((8.5 * (2 * np.tan(turns / 2) - turns)).sum())
    assert saved_m == pytest.approx(45.7, abs=0.1)
    assert eased.length_m > 800.0 + 400.0 * np.sqrt(2.0) - saved_m
