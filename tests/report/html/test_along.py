"""Curves, marks and numbers along the lap: read back from the paths, against the laps."""

import re
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from lapwright.laps.comparison import Comparison
from lapwright.report.html.along import (
    corner_spans,
    delta_figure,
    distance_ticks,
    lap_arrays,
    speed_figure,
    stations,
)
from lapwright.report.html.figure import Along, Curve
from lapwright.report.report_data import ReportData
from lapwright.units import Units

# Foot and mile: international, 1959, exact. [m]
FOOT_M, MILE_M = 0.3048, 1609.344
Floats = npt.NDArray[np.float64]


def points(figure: Along, curve: Curve) -> tuple[Floats, Floats]:
    """Stations and values of a curve as it is drawn. [m], unit of the axis."""
    start, _, steps = curve.path.partition("l")
    first = [float(n) for n in start.removeprefix("M").split()]
    numbers = [float(n) for n in re.findall(r"-?\d+", steps)]
    xy = np.cumsum([first, *zip(numbers[::2], numbers[1::2], strict=True)], axis=0)
    return xy[:, 0], figure.high - xy[:, 1] / 1000.0 * (figure.high - figure.low)


def compared(material: ReportData) -> Comparison:
    assert material.comparison is not None
    return material.comparison


@pytest.fixture
def window(material: ReportData) -> tuple[float, float]:
    row = material.corners.iloc[2]
    return float(row["entry_m"]) - 150.0, float(row["exit_m"]) + 100.0


def test_stations_reach_both_ends() -> None:
    assert stations(2.0, 13.0).tolist() == [2.0, 7.0, 12.0, 13.0]
    assert stations(0.0, 10.0).tolist() == [0.0, 5.0, 10.0]


@pytest.mark.parametrize(("units", "factor"), [("km/h", 3.6), ("mph", 3600.0 / MILE_M)])
def test_speeds_are_those_of_the_lap(
    material: ReportData, window: tuple[float, float], units: str, factor: float
) -> None:
    laps = [(3, "other"), (material.usual or 0, "usual"), (material.best or 0, "best")]
    figure = speed_figure(material, laps, window, Units(units), 170, "Speed")
    assert (figure.unit, figure.label, figure.kind) == (units, "Speed", "speed")
    assert [(c.lap, c.role) for c in figure.curves] == laps
    for curve in figure.curves:
        assert curve.lap is not None
        x, y = points(figure, curve)
        assert x[[0, -1]] == pytest.approx(window, abs=0.5)
        true = material.traces[curve.lap].at_station("speed_mps", stations(*window)) * factor
        # A thousandth of the frame, and half a metre along the way.
        assert y == pytest.approx(true, abs=0.0011 * (figure.high - figure.low))
        assert figure.low < y.min() <= y.max() < figure.high


def test_marks_lie_on_the_line_of_their_lap(
    material: ReportData, window: tuple[float, float]
) -> None:
    laps = [(material.usual or 0, "usual"), (material.best or 0, "best")]
    middle = 0.5 * (window[0] + window[1])
    marks = [
        ("brake", "usual", window[0] + 33.0, "a"), ("slowest", "best", middle, "b"),
        ("brake", "best", window[0] - 1.0, "before"),
        ("throttle", "best", window[1] + 1.0, "after"),
        ("brake", "other", middle, "of no lap drawn"), ("throttle", "best", window[1], "c"),
        ("brake", "best", window[0], "d"),
    ]  # fmt: skip
    figure = speed_figure(material, laps, window, Units(), 170, "", marks)
    assert [(m.text, m.kind, m.role) for m in figure.marks] == [
        ("a", "brake", "usual"), ("b", "slowest", "best"), ("c", "throttle", "best"),
        ("d", "brake", "best"),
    ]  # fmt: skip
    long = window[1] - window[0]
    assert [m.share for m in figure.marks] == pytest.approx([33.0 / long, 0.5, 1.0, 0.0])
    for mark in figure.marks:
        lap = material.usual if mark.role == "usual" else material.best
        assert lap is not None
        station = window[0] + mark.share * long
        speed = 3.6 * float(material.traces[lap].at_station("speed_mps", station))
        shown = figure.high - mark.level * (figure.high - figure.low)
        # A line from station to station, five metres apart, cuts the bend a little.
        assert shown == pytest.approx(speed, abs=0.3)


def test_the_delta_has_its_band_of_one_sd(
    material: ReportData, window: tuple[float, float]
) -> None:
    c = compared(material)
    figure = delta_figure(c, material.corners, window, Units(), 90, "Delta")
    band, line = figure.curves
    assert (band.role, line.role, line.lap) == ("band", "usual", c.lap)
    x, y = points(figure, line)
    s = stations(*window)
    true, sd = (np.interp(s, c.delta["station_m"], c.delta[n]) for n in ("delta_s", "delta_sd_s"))
    close = 0.0011 * (figure.high - figure.low)
    assert x == pytest.approx(s, abs=0.51)
    assert y == pytest.approx(true, abs=close)
    # Out along the upper edge, back along the lower.
    _, edge = points(figure, replace(band, path=band.path.removesuffix("z")))
    n = len(s)
    assert edge[:n] == pytest.approx(true + sd, abs=close)
    assert edge[n:][::-1] == pytest.approx(true - sd, abs=close)
    assert (figure.unit, figure.kind, figure.linked) == ("s", "delta", True)


def test_zero_is_on_the_axis_of_a_whole_lap(
    material: ReportData, window: tuple[float, float]
) -> None:
    # All lost: the delta of the fixture's usual lap, lifted by a second.
    c = compared(material)
    lifted = replace(c, delta=c.delta.assign(delta_s=c.delta["delta_s"] + 1.0))
    for sign in (1.0, -1.0):
        other = replace(c, delta=lifted.delta.assign(delta_s=sign * lifted.delta["delta_s"]))
        whole = delta_figure(other, material.corners, (0.0, material.length_m), Units(), 150, "")
        assert whole.zero is not None
        assert whole.high - whole.zero * (whole.high - whole.low) == pytest.approx(0.0, abs=1e-9)
        # Around a corner the band fills the frame, and zero is far off.
        part = delta_figure(other, material.corners, window, Units(), 150, "")
        assert part.zero is None
        assert not part.low < 0.0 < part.high


def test_a_flat_delta_is_not_blown_up(material: ReportData, window: tuple[float, float]) -> None:
    c = compared(material)
    flat = replace(c, delta=c.delta.assign(delta_s=0.2, delta_sd_s=0.001))
    figure = delta_figure(flat, material.corners, window, Units(), 90, "", "best", linked=False)
    # Six hundredths of a second at least, about what is shown.
    assert (figure.low, figure.high) == pytest.approx((0.17, 0.23))
    assert (figure.curves[1].role, figure.linked) == ("best", False)


def test_distances_are_ticked_in_the_unit_that_is_shown() -> None:
    assert [t.text for t in distance_ticks((215.0, 541.0), Units())] == [
        "250", "300", "350", "400", "450", "500",
    ]  # fmt: skip
    feet = distance_ticks((0.0, 1000.0 * FOOT_M), Units("mph", "ft"))
    assert [t.text for t in feet] == ["0", "200", "400", "600", "800", "1000"]
    assert [t.share for t in feet] == pytest.approx([0.0, 0.2, 0.4, 0.6, 0.8, 1.0])


def test_corners_are_shaded_where_they_are(material: ReportData) -> None:
    rows = material.corners
    one, two = rows.iloc[0], rows.iloc[1]
    # From the first apex to just short of the second one's: of the first its second half.
    window = float(one["apex_m"]), float(two["apex_m"]) - 1.0
    (found,) = corner_spans(rows, window)
    assert found.text == str(one["corner"])
    assert (found.start, found.end, found.middle) == (one["apex_m"], one["exit_m"], 0.0)
    whole = corner_spans(rows, (0.0, material.length_m))
    assert [s.text for s in whole] == [str(n) for n in rows["corner"]]
    for span, row in zip(whole, rows.to_dict("records"), strict=True):
        assert (span.start, span.end) == (row["entry_m"], row["exit_m"])
        assert span.middle == pytest.approx(row["apex_m"] / material.length_m)


def test_numbers_for_the_script_are_those_of_the_laps(material: ReportData) -> None:
    data = lap_arrays(material, Units("mph", "ft"))
    laps = data["laps"]
    assert isinstance(laps, dict)
    assert set(laps) == {str(n) for n in material.traces}
    assert material.best is not None
    s = stations(0.0, material.length_m)
    gaps = material.laps.set_index("lap")["gap_s"]
    c = compared(material)
    for number, values in laps.items():
        lap = int(number)
        speed = material.traces[lap].at_station("speed_mps", s) * 3600.0 / MILE_M
        assert np.array(values["speed"]) == pytest.approx(10.0 * speed, abs=0.501)
        # Milliseconds from nothing at the line to the gap.
        assert values["delta"][0] == 0
        assert values["delta"][-1] == pytest.approx(1e3 * gaps[lap], abs=1.01)
        assert len(values["delta"]) == len(s)
    usual = laps[str(c.lap)]
    for name, key, per_s, close in (
        ("delta_s", "delta", 1e3, 1.5),
        ("delta_sd_s", "sd", 1e4, 0.51),
    ):
        drawn = np.interp(s, c.delta["station_m"], c.delta[name])
        assert np.array(usual[key]) == pytest.approx(per_s * drawn, abs=close)
    assert (data["best"], data["usual"], data["units"]) == (material.best, material.usual, "mph")
    assert data["distance"] == ["ft", pytest.approx(1.0 / FOOT_M)]
    assert data["length"] == pytest.approx(material.length_m, abs=0.006)
    assert data["step"] == 5.0
    place = np.array(data["place"]) / 10.0
    best = material.traces[material.best]
    assert place[0] == pytest.approx(best.at_station("east_m", s), abs=0.0501)
    assert place[1] == pytest.approx(best.at_station("north_m", s), abs=0.0501)
    corners = data["corners"]
    assert isinstance(corners, list)
    for found, row in zip(corners, material.corners.to_dict("records"), strict=True):
        assert found[:2] == [row["corner"], row["name"]]
        assert found[2:] == pytest.approx([row["entry_m"], row["exit_m"]], abs=0.0501)
    assert lap_arrays(replace(material, best=None), Units()) == {}
