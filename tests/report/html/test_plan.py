"""Plans: north up, to scale, lines and marks where the car was."""

import re
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from lapwright.report.html.figure import Curve
from lapwright.report.html.plan import Plan, circuit_plan, corner_plan
from lapwright.report.report_data import ReportData
from lapwright.units import Units

FOOT_M = 0.3048  # international, 1959, exact
Floats = npt.NDArray[np.float64]


def metres(plan: Plan, x: npt.ArrayLike, y: npt.ArrayLike) -> Floats:
    """East and north of places of a picture."""
    east = plan.east_m + np.asarray(x) / plan.scale
    return np.stack([east, plan.north_m - np.asarray(y) / plan.scale], axis=-1)


def drawn(plan: Plan, curve: Curve) -> Floats:
    """East and north of a curve, which is written in tenths."""
    start, _, steps = curve.path.partition("l")
    first = [float(n) for n in start.removeprefix("M").split()]
    numbers = [float(n) for n in re.findall(r"-?\d+", steps)]
    xy = np.cumsum([first, *zip(numbers[::2], numbers[1::2], strict=True)], axis=0) / 10.0
    assert xy.min() >= 0.0
    assert xy[:, 0].max() <= plan.width
    assert xy[:, 1].max() <= plan.height
    return metres(plan, xy[:, 0], xy[:, 1])


def length_of_bar(plan: Plan, units: Units) -> float:
    """What is written at the scale bar. [m]."""
    number, unit = plan.bar_text.split()
    assert unit == units.distance
    return float(number) * (FOOT_M if unit == "ft" else 1.0)


@pytest.mark.parametrize("units", [Units(), Units("mph", "ft")])
def test_the_circuit_is_its_path_to_scale(material: ReportData, units: Units) -> None:
    plan = circuit_plan(material, units)
    path = material.track.path
    assert path is not None
    (road,) = plan.curves
    found = drawn(plan, road)
    s = np.linspace(0.0, material.length_m, len(found))
    true = path.at(s)
    assert np.abs(found[:, 0] - true.east_m).max() < 0.06 / plan.scale
    assert np.abs(found[:, 1] - true.north_m).max() < 0.06 / plan.scale
    assert plan.bar / plan.scale == pytest.approx(length_of_bar(plan, units))
    assert 0.05 * plan.width < plan.bar < 0.5 * plan.width


def test_lines_lie_across_the_road_and_numbers_inside_their_corners(material: ReportData) -> None:
    plan = circuit_plan(material, Units())
    path = material.track.path
    assert path is not None
    gates = (material.track.start_finish, *material.track.sectors)
    shown = [p for p in plan.places if p.kind in ("line", "sector")]
    assert [p.kind for p in shown] == ["line", *["sector"] * (len(gates) - 1)]
    assert [p.text for p in shown] == ["start/finish line", "line 1", "line 2"]
    for place, gate in zip(shown, gates, strict=True):
        middle = 0.5 * (np.array(gate.left_m) + np.array(gate.right_m))
        assert metres(plan, place.x, place.y) == pytest.approx(middle, abs=1e-6)
        # A dash of the picture, turned clockwise as seen: east is right and north up.
        turn = np.radians(place.turn_deg)
        along = np.array([np.cos(turn), -np.sin(turn)])
        gate_way = np.array(gate.right_m) - np.array(gate.left_m)
        assert abs(along @ gate_way) == pytest.approx(np.linalg.norm(gate_way), rel=1e-9)
    numbers = {p.text: p for p in plan.places if p.kind == "number"}
    assert set(numbers) == {str(n) for n in material.corners["corner"]}
    for corner in material.track.corners:
        place = numbers[str(corner.order)]
        apex = path.at(corner.apex_m)
        away = metres(plan, place.x, place.y) - [float(apex.east_m), float(apex.north_m)]
        heading = float(apex.heading_rad)
        left = np.array([-np.sin(heading), np.cos(heading)])
        # 15 of the picture's units to the side the corner bends to.
        side = 1.0 if corner.direction == "left" else -1.0
        assert away == pytest.approx(side * 15.0 / plan.scale * left, abs=1e-6)


def test_arrows_point_the_way_it_is_driven(material: ReportData) -> None:
    plan = circuit_plan(material, Units())
    path = material.track.path
    assert path is not None
    arrows = [p for p in plan.places if p.kind == "arrow"]
    assert len(arrows) == 5
    for k, arrow in enumerate(arrows):
        point = path.at((k + 0.35) / 5.0 * material.length_m)
        assert metres(plan, arrow.x, arrow.y) == pytest.approx(
            [float(point.east_m), float(point.north_m)], abs=1e-6
        )
        turn, heading = np.radians(arrow.turn_deg), float(point.heading_rad)
        assert [np.cos(turn), -np.sin(turn)] == pytest.approx([np.cos(heading), np.sin(heading)])


@pytest.mark.parametrize("units", [Units(), Units("mph", "ft")])
def test_lines_through_a_corner_are_those_that_were_driven(
    material: ReportData, units: Units
) -> None:
    row = material.corners.iloc[2]
    window = float(row["entry_m"]) - 150.0, float(row["exit_m"]) + 100.0
    assert material.usual is not None
    assert material.best is not None
    laps = [(material.usual, "usual"), (material.best, "best")]
    apex = float(row["apex_m"])
    marks = [
        ("brake", "usual", window[0] + 40.0, "a"), ("slowest", "best", apex, "b"),
        ("brake", "best", window[0] - 1.0, "before"),
        ("throttle", "best", window[1] + 1.0, "after"), ("brake", "other", apex, "of no lap drawn"),
    ]  # fmt: skip
    plan = corner_plan(material, laps, window, marks, "Lines", units)
    assert plan.label == "Lines"
    s = np.linspace(*window, max(round((window[1] - window[0]) / 3.0), 20))
    for curve, (lap, role) in zip(plan.curves, laps, strict=True):
        assert curve.role == role
        trace = material.traces[lap]
        true = np.stack([trace.at_station("east_m", s), trace.at_station("north_m", s)], axis=-1)
        assert np.abs(drawn(plan, curve) - true).max() < 0.06 / plan.scale
    assert [(p.text, p.kind, p.role) for p in plan.places] == [
        ("a", "brake", "usual"), ("b", "slowest", "best"),
    ]  # fmt: skip
    for place, (_, role, station, _) in zip(plan.places, marks, strict=False):
        trace = material.traces[material.usual if role == "usual" else material.best]
        true = [float(trace.at_station(f"{axis}_m", station)) for axis in ("east", "north")]
        # Points 3 m apart: at 10 m of radius a chord cuts 3^2 / 80 m off the bend.
        assert metres(plan, place.x, place.y) == pytest.approx(true, abs=0.113)
    assert plan.bar / plan.scale == pytest.approx(length_of_bar(plan, units))


def test_the_picture_holds_the_points_with_a_margin_on_every_side(material: ReportData) -> None:
    plan = circuit_plan(material, Units())
    found = drawn(plan, plan.curves[0])
    x = (found[:, 0] - plan.east_m) * plan.scale
    y = (plan.north_m - found[:, 1]) * plan.scale
    assert x.min() == pytest.approx(plan.width - x.max(), abs=0.2)
    # Below there is room for the scale bar.
    assert y.min() == pytest.approx(plan.height - 16.0 - y.max(), abs=0.2)
    assert min(x.min(), y.min()) == pytest.approx(26.0, abs=0.2)
    assert plan.label.startswith("Plan of Hollow")
    unnamed = replace(material, track=replace(material.track, name=""))
    assert circuit_plan(unnamed, Units()).label == "Plan of the circuit with numbered corners"
