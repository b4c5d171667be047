import numpy as np
import pytest

from lapwright.discovery.loop.find_loop import NoCircuitError
from lapwright.discovery.loop.reference import complete_from_positions
from lapwright.geometry import Gate, Track
from lapwright.plane import Plane

PLANE = Plane(52.0, 5.0)


def track_of(path, station_m: float, width_m: float = 16.0) -> Track:
    point = path.at(station_m)
    gate = Gate.across(
        (float(point.east_m), float(point.north_m)), float(point.heading_rad), width_m
    )
    return Track("Lark Down", PLANE, gate, source="file")


def test_path_is_cut_at_the_given_line_and_has_corners(circuits, drive) -> None:
    path = circuits["lark_down"]
    track = complete_from_positions(track_of(path, 300.0), *drive(path))
    assert track.length_m == pytest.approx(path.length_m, rel=0.002)
    assert track.direction == "clockwise"
    start = track.path.at(0.0)
    # The line is crossed within the drift of the receiver.
    assert abs(float(track.start_finish.signed_distance(start.east_m, start.north_m))) < 1e-6
    assert abs(float(track.start_finish.offset(start.east_m, start.north_m))) < 2.5
    assert len(track.corners) >= 6
    assert [c.order for c in track.corners] == list(range(1, len(track.corners) + 1))


def test_a_line_crossed_only_backwards_says_so(circuits, drive) -> None:
    path = circuits["lark_down"]
    track = track_of(path, 300.0)
    backwards = Track("", PLANE, track.start_finish.reversed(), source="file")
    with pytest.raises(NoCircuitError, match="swap the ends"):
        complete_from_positions(backwards, *drive(path))


def test_a_line_elsewhere_says_so(circuits, drive) -> None:
    gate = Gate((5000.0, 10.0), (5000.0, -10.0))
    with pytest.raises(NoCircuitError, match="never crosses"):
        complete_from_positions(Track("", PLANE, gate), *drive(circuits["lark_down"]))


def test_given_path_is_kept(circuits, drive) -> None:
    path = circuits["lark_down"]
    track = track_of(path, 300.0).with_path(path)
    done = complete_from_positions(track, np.zeros(0), np.zeros(0), np.zeros(0))
    assert done.path.length_m == pytest.approx(path.length_m, rel=1e-9)
    assert len(done.corners) >= 6
