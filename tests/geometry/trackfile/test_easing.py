"""No path is sharper than a car can turn."""

import numpy as np
import pytest

from lapwright.geometry import ReferencePath
from lapwright.geometry.trackfile.easing import eased


def sharpest(path: ReferencePath) -> float:
    return float(1.0 / np.abs(path.at(path.stations(0.25)).curvature_per_m).max())


def test_a_path_that_is_round_enough_is_left_alone(traced) -> None:
    path = ReferencePath(*traced(2 * [(100.0, 0, 0), (np.pi * 10.0, 0.1, 0.1)], step=1.0))
    assert eased(path) is path


def test_a_box_drawn_with_a_few_clicks(traced) -> None:
    # 200 m by 80 m with square corners.
    side = np.concatenate([np.arange(0, 200, 10.0), np.full(8, 200.0)])
    other = np.concatenate([np.zeros(20), np.arange(0, 80, 10.0)])
    path = ReferencePath(
        np.concatenate([side, 200.0 - side]), np.concatenate([other, 80.0 - other])
    )
    assert sharpest(path) < 6.0
    smooth = eased(path)
    assert sharpest(smooth) >= 8.0 - 0.01
    # A circle of 8 m in a square corner leaves (sqrt 2 - 1) R = 3.3 m of it out.  A bend that grows
    # evenly to 8 m and falls again leaves Es = (R + p)(sec 45 deg - 1) + p = 4.45 m, with
    # p = 0.805 m for spirals of 45 degrees each (highway spiral, Montana DOT Road Design Manual,
    # app. K); a rounded corner lies between the two, or a little beyond.
    # Away from the corners nothing moves.
    offset = smooth.project(path.east_m, path.north_m)[1]
    assert 3.3 < np.abs(offset).max() < 4.8
    straight = (path.east_m > 35) & (path.east_m < 165)
    assert np.abs(offset[straight]).max() < 0.01
    assert smooth.turning == 1


def test_a_kink_in_a_straight(traced) -> None:
    east, north = traced(2 * [(200.0, 0, 0), (np.pi * 30.0, 1 / 30, 1 / 30)], step=4.0)
    north = north + np.where(np.arange(len(north)) == 20, 1.5, 0.0)
    assert sharpest(ReferencePath(east, north)) < 8.0
    smooth = eased(ReferencePath(east, north))
    assert sharpest(smooth) >= 8.0 - 0.01
    kept = smooth.project(east[60:], north[60:])[1]
    assert np.abs(kept).max() < 0.01


def test_what_is_too_small_to_be_a_circuit() -> None:
    angle = np.arange(40) * (2.0 * np.pi / 40)
    with pytest.raises(ValueError, match="more sharply than a radius of 8 m"):
        eased(ReferencePath(5.0 * np.cos(angle), 5.0 * np.sin(angle)))
