"""Stations of lines across a path."""

import numpy as np
import pytest

from lapwright.geometry import Gate, ReferencePath
from lapwright.geometry.gate_stations import gate_station, path_crossings


@pytest.fixture
def circle() -> ReferencePath:
    """Radius 100 m, anticlockwise from the east."""
    angle = np.arange(400) * (2.0 * np.pi / 400)
    return ReferencePath(100.0 * np.cos(angle), 100.0 * np.sin(angle))


def test_a_line_across_a_circle(circle) -> None:
    # The line from the middle outwards at 60 degrees: station is 100 m times pi/3.
    along = np.array([np.cos(np.pi / 3), np.sin(np.pi / 3)])
    gate = Gate(tuple(90.0 * along), tuple(112.0 * along))
    assert gate_station(circle, gate, "a line") == pytest.approx(100.0 * np.pi / 3, abs=1e-6)
    # The straight line goes on through the other side of the circle, backwards.
    found = path_crossings(circle, gate)
    assert found.station_m == pytest.approx(100.0 * np.array([np.pi / 3, 4 * np.pi / 3]), abs=1e-6)
    assert found.forward.tolist() == [True, False]
    # The middle is 101 m out, the path 100 m: one metre to its left; the far side 201 m.
    assert found.offset_m == pytest.approx([1.0, 201.0], abs=1e-4)


def test_a_long_line_takes_the_crossing_nearest_its_middle(circle) -> None:
    # Reaches over both sides; only one is crossed in its direction.
    gate = Gate((-120.0, 0.0), (130.0, 0.0))
    assert gate_station(circle, gate, "a line") % circle.length_m == pytest.approx(0.0, abs=1e-6)
    assert gate_station(circle, gate.reversed(), "a line") == pytest.approx(100.0 * np.pi)


def test_of_two_crossings_in_its_direction_the_one_nearest_the_middle(twice_round) -> None:
    # At 300 m along the main straight the rounds are 8 m apart; the second is the left one.
    second = gate_station(twice_round, Gate((300.0, 15.0), (300.0, -3.0)), "a line")
    first = gate_station(twice_round, Gate((300.0, 10.0), (300.0, -8.0)), "a line")
    assert first == pytest.approx(300.0, abs=0.01)
    assert twice_round.at(second).north_m == pytest.approx(8.0, abs=1e-3)
    assert second > 1000.0


def test_a_line_that_falls_short_by_some_metres_still_counts(circle) -> None:
    assert gate_station(circle, Gate((88.0, 0.0), (97.0, 0.0)), "a line") is not None
    with pytest.raises(ValueError, match="the path does not cross a line"):
        gate_station(circle, Gate((70.0, 0.0), (80.0, 0.0)), "a line")


def test_a_line_with_its_ends_swapped(circle) -> None:
    with pytest.raises(ValueError, match=r"crosses the line of sector 1 the wrong way\. Swap"):
        gate_station(circle, Gate((110.0, 0.0), (90.0, 0.0)), "the line of sector 1")


def test_a_line_beyond_everything(circle) -> None:
    assert len(path_crossings(circle, Gate((300.0, 0.0), (300.0, 5.0))).station_m) == 0
