"""Circuits: plane, lines, usual line, pit lane."""

from dataclasses import replace

import numpy as np
import pyproj
import pytest

from lapwright import simulate as sim
from lapwright.simulate.circuit.circuits import EARTH_RADIUS_M


@pytest.mark.parametrize("place", [(-43.0, 144.0), (52.1, 4.7), (-16.6, -179.999), (0.0, 180.0)])
def test_degrees_and_back_and_true_lengths(place: tuple[float, float]) -> None:
    circuit = replace(sim.invented("oval"), lat0_deg=place[0], lon0_deg=place[1], height_m=500.0)
    points = np.random.default_rng(1).uniform(-1500, 1500, (40, 2))
    degrees = circuit.to_degrees(points)
    assert np.all((degrees[:, 1] >= -180) & (degrees[:, 1] < 180))
    np.testing.assert_allclose(circuit.to_plane(degrees), points, rtol=0, atol=1e-6)
    # Lengths at height h are longer than the geodesic on the ellipsoid by h / R
    # (78 ppm at 500 m; the earth's own curvature radius differs by 0.3 % of that).
    geod = pyproj.Geod(ellps="WGS84")
    a, b = degrees[:-1], degrees[1:]
    _, _, ground = geod.inv(a[:, 1], a[:, 0], b[:, 1], b[:, 0])
    planar = np.hypot(*(points[1:] - points[:-1]).T)
    np.testing.assert_allclose(planar / ground - 1, 500.0 / EARTH_RADIUS_M, rtol=0, atol=5e-7)


def test_lines_stand_square_with_the_left_end_first() -> None:
    circuit = sim.invented("wren_hollow")
    for gate, station in zip(circuit.gates, (0.0, *circuit.sector_stations_m), strict=True):
        way = np.diff(circuit.place(np.array([station - 0.5, station + 0.5])), axis=0)[0]
        across = gate[1] - gate[0]
        assert abs(way @ across) < 1e-3 * np.hypot(*across)
        # Driving forward, the left end lies to the left.
        assert way[0] * (gate[0] - gate[1])[1] - way[1] * (gate[0] - gate[1])[0] > 0
    start = circuit.to_plane(np.array(circuit.gates_deg[0]))
    np.testing.assert_allclose(start, circuit.gates[0], rtol=0, atol=1e-6)


def test_usual_line_stays_on_the_road_and_cuts_the_corners() -> None:
    for name in ("wren_hollow", 3, 8):
        circuit = sim.invented(name)
        _, offset = circuit.usual_line
        assert np.abs(offset).max() <= circuit.half_width_m - 1.0
        for bend in circuit.bends:
            if bend.turn_deg > 40:
                inside = 1.0 if bend.direction == "left" else -1.0
                at = round(bend.apex_m) % len(offset)
                assert inside * offset[at] > 0, bend
    # The tightest point is not as tight as on the middle of the road.
    circuit = sim.invented("wren_hollow")
    bend = circuit.bends[0]
    middle = np.abs(circuit.curvature(np.arange(bend.entry_m, bend.exit_m)))
    assert bend.radius_m > 1.1 / middle.max()


def test_pit_lane_leaves_and_joins_smoothly() -> None:
    pit = sim.PitLane(-200.0, 250.0, -14.0, -40.0)
    share = pit.share(np.array([-201.0, -200.0, -170.0, -140.0, 0.0, 190.0, 220.0, 250.0, 300.0]))
    np.testing.assert_allclose(share, [0, 0, 0.5, 1, 1, 1, 0.5, 0, 0], rtol=0, atol=1e-12)
    with pytest.raises(ValueError, match="not inside the lane"):
        sim.PitLane(-200.0, 250.0, -14.0, 230.0)


def test_start_line_reaches_across_the_pit_lane() -> None:
    circuit = sim.invented("wren_hollow")
    assert circuit.pit is not None
    lane = circuit.place(np.array([0.0]), circuit.pit.offset_m)[0]
    left, right = circuit.gates[0]
    along = (right - left) / np.hypot(*(right - left))
    assert 0 < (lane - left) @ along < np.hypot(*(right - left)) - 1
