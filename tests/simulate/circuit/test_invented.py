"""Circuits by name, by seed and from arrays."""

import numpy as np
import pytest

from lapwright import simulate as sim
from lapwright.simulate.circuit import shapes


def test_unknown_name_lists_the_known() -> None:
    with pytest.raises(ValueError, match="'wren_hollow', 'circle', 'oval', 'eight', 'parallel'"):
        sim.invented("monopoly")


def test_seeds_repeat_and_differ() -> None:
    a, b, c = sim.invented(5), sim.invented(5), sim.invented(6)
    np.testing.assert_array_equal(a.east_m, b.east_m)
    assert a.gates_deg == b.gates_deg
    assert a.length_m != c.length_m


def test_start_line_lies_on_the_longest_straight() -> None:
    circuit = sim.invented("wren_hollow")
    around = np.arange(-250.0, 250.0)
    assert np.abs(circuit.curvature(around)).max() < 1 / 400
    for station in circuit.sector_stations_m:
        near = circuit.curvature(station + np.arange(-20.0, 20.0))
        assert np.abs(near).max() < 1 / 300


def test_from_arrays_arguments() -> None:
    east, north = shapes.clothoid_oval()
    plain = sim.from_arrays(
        "x", east[::4], north[::4], half_width_m=4.0, reach_m=7.0, smooth_sd_m=0.0
    )
    assert plain.length_m == pytest.approx(994.159265, abs=0.01)  # spline through 4 m chords
    assert plain.pit is not None
    assert plain.pit.offset_m == pytest.approx(-13.0)
    assert np.hypot(*(plain.gates[1][0] - plain.gates[1][1])) == pytest.approx(14.0)
    left = sim.from_arrays("x", east, north, pit_side="left", box_m=30.0, place=(50.0, 8.0, 200.0))
    assert left.pit is not None
    assert left.pit.offset_m > 0
    assert left.pit.box_m == 30.0
    assert (left.lat0_deg, left.lon0_deg, left.height_m) == (50.0, 8.0, 200.0)
    bare = sim.from_arrays("x", east, north, start_m=100.0, pit=False)
    assert bare.pit is None
    np.testing.assert_allclose(
        bare.place(np.array([0.0]))[0],
        [east[100] - east.mean(), north[100] - north.mean()],
        rtol=0,
        atol=0.6,
    )
    rough = east + np.random.default_rng(1).normal(0, 0.05, len(east))
    smooth = sim.from_arrays("x", rough, north, smooth_sd_m=6.0)
    jagged = sim.from_arrays("x", rough, north)
    assert np.abs(smooth.curvature(np.arange(900.0))).max() < 0.025
    assert np.abs(jagged.curvature(np.arange(900.0))).max() > 0.05
    with pytest.raises(ValueError, match="pit_side"):
        sim.from_arrays("x", east, north, pit_side="up")


def test_lines_drawn_on_a_map_are_smoothed() -> None:
    east, north = shapes.clothoid_oval()
    rough = np.random.default_rng(2).normal(0, 0.1, (199, 2))
    drawn = sim.from_arrays("x", east[::5] + rough[:, 0], north[::5] + rough[:, 1])
    as_it_is = sim.from_arrays(
        "x", east[::5] + rough[:, 0], north[::5] + rough[:, 1], smooth_sd_m=0.0
    )
    station = np.arange(990.0)
    # The bends of the oval have 0.02 /m; a spline through 0.1 m of noise every 5 m has more.
    assert np.abs(drawn.curvature(station)).max() < 0.028
    assert np.abs(as_it_is.curvature(station)).max() > 0.035


def test_tight_hairpin_can_be_driven() -> None:
    # Radius 7 m on a road 12 m wide: the inside edge is all but the centre of the bend.
    lane = [(0.0, 0.0, 7.0), (300.0, 0.0, 7.0), (300.0, 14.2, 7.0), (0.0, 14.2, 7.0)]
    east, north = shapes.rounded_polygon(lane, sd_m=2.0)
    circuit = sim.from_arrays("x", east, north, half_width_m=6.0, pit=False)
    _, offset = circuit.usual_line
    tight = np.abs(circuit.curvature(np.arange(len(offset)) * circuit.length_m / len(offset)))
    assert (np.abs(offset) * tight).max() < 0.6
    run = sim.drive(circuit, sim.KART, plan=sim.Plan((1,), start="rolling", end="track"))
    assert len(run.passes) == len(circuit.bends) > 0
