"""Grip used: braking below, left corners on the left, in g, and the corner's own shares."""

import re
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from lapwright.report.grip_chart import GripChart, grip_chart, grip_rows
from lapwright.report.report_data import ReportData

# Standard gravity: exact, 3rd CGPM, 1901.
G_MPS2 = 9.80665
Floats = npt.NDArray[np.float64]


def drawn(material: ReportData) -> GripChart:
    chart = grip_chart(material)
    assert chart is not None
    return chart


def points(chart: GripChart, path: str) -> tuple[Floats, Floats]:
    """Right and up from the middle of the picture. [g]."""
    text, radius = chart.rings[0][1], chart.rings[0][0]
    per_g = radius / float(text.removesuffix(" g"))
    xy = np.array(re.findall(r"(-?\d+) (-?\d+)", path), dtype=np.float64) / 10.0
    return (xy[:, 0] - chart.size / 2.0) / per_g, (chart.size / 2.0 - xy[:, 1]) / per_g


def test_dots_are_the_accelerations_of_the_clean_laps(material: ReportData) -> None:
    some = [int(n) for n in material.clean["lap"].head(2)]
    two = replace(
        material, laps=material.laps.assign(representative=material.laps["lap"].isin(some))
    )
    chart = drawn(two)
    right, up = points(chart, chart.dots)
    traces = [material.traces[n] for n in some]
    lateral = np.concatenate([t.accel_lat_mps2[t.inside] for t in traces]) / G_MPS2
    along = np.concatenate([t.accel_long_mps2[t.inside] for t in traces]) / G_MPS2
    # Two laps of a minute and a half, ten fixes a second: all of them are drawn, in tenths of a
    # unit of the picture. Acceleration to the left, a left corner, is on the left.
    assert len(right) == len(lateral)
    assert right == pytest.approx(-lateral, abs=0.002)
    assert up == pytest.approx(along, abs=0.002)
    assert np.abs(up).max() > 0.5


def test_many_moments_are_thinned_evenly(material: ReportData) -> None:
    right, _ = points(drawn(material), drawn(material).dots)
    traces = [material.traces[int(n)] for n in material.clean["lap"]]
    lateral = np.concatenate([t.accel_lat_mps2[t.inside] for t in traces]) / G_MPS2
    every = -(-len(lateral) // 5000)
    assert every > 1
    assert right == pytest.approx(-lateral[::every], abs=0.002)


def test_rings_are_half_a_g_apart_and_everything_is_inside(material: ReportData) -> None:
    chart = drawn(material)
    radii = np.array([radius for radius, _ in chart.rings])
    assert [text for _, text in chart.rings][:2] == ["0.5 g", "1.0 g"]
    assert radii == pytest.approx(radii[0] * np.arange(1, len(radii) + 1))
    for path in (chart.dots, chart.envelope):
        assert np.abs(points(chart, path)).max() * radii[0] / 0.5 < chart.size / 2.0


def test_the_envelope_is_the_largest_over_all_speeds_on_both_sides(material: ReportData) -> None:
    chart = drawn(material)
    right, up = points(chart, chart.envelope)
    envelope = material.grip.envelope
    largest = envelope.reached_mps2.max(axis=0) / G_MPS2
    # -90 degrees is braking straight, 0 cornering, 90 driving straight.
    turn = np.radians(envelope.direction_deg)
    n = len(largest)
    assert right[:n] == pytest.approx(largest * np.cos(turn), abs=0.002)
    assert up[:n] == pytest.approx(largest * np.sin(turn), abs=0.002)
    assert right[n:] == pytest.approx(-right[:n][::-1], abs=0.002)
    assert up[n:] == pytest.approx(up[:n][::-1], abs=0.002)


def test_without_a_clean_lap_there_is_no_chart(material: ReportData) -> None:
    assert grip_chart(replace(material, laps=material.laps.assign(representative=False))) is None


def test_shares_are_those_of_the_corner_and_the_phase(material: ReportData) -> None:
    corners = material.grip.corners.copy()
    corners.loc[corners.index[0], "grip_exit"] = np.nan
    rows = grip_rows(replace(material, grip=replace(material.grip, corners=corners)))
    assert [number for number, _, _ in rows] == list(corners["corner"])
    by_corner = corners.set_index("corner")
    for number, name, shares in rows:
        row = by_corner.loc[number]
        for text, phase in zip(shares, ("braking", "middle", "exit"), strict=True):
            share = row[f"grip_{phase}"]
            assert text == ("\N{EN DASH}" if np.isnan(share) else f"{round(100.0 * share)} %")
        if number != 2:
            assert str(number) in name
    assert "Saint Aldwyn" in {n: name for n, name, _ in rows}[2]
