"""Charts of a weekend page: places against the numbers."""

import pytest

from lapwright.report.weekend.charts import CORNER_PX, LAPS_PX, corner_charts, lap_chart, shape_of
from lapwright.report.weekend.data import CircuitData
from lapwright.units import Units


def test_every_clean_lap_is_a_dot_in_its_sessions_stretch(circuit: CircuitData) -> None:
    dry = circuit.fields[0]
    chart = lap_chart(dry)
    assert chart is not None
    n = len(dry.sessions)
    for k, one in enumerate(dry.sessions):
        inside = [d for d in chart.dots if k / n < d.share < (k + 1) / n]
        clean = [d for d in inside if d.role != "flagged"]
        assert len(clean) == len(one.clean)
        assert {d.shape for d in inside} == {shape_of(dry, one)}
    assert [d.role for d in chart.dots].count("best") == 1
    assert [t.text for t in chart.x_ticks] == [str(one.number) for one in dry.sessions]


def test_dots_and_medians_lie_at_one_scale(circuit: CircuitData) -> None:
    chart = lap_chart(circuit.fields[0])
    assert chart is not None
    times = [t for one in circuit.fields[0].sessions for t in one.clean["time_s"]]
    dots = [d.y for d in chart.dots if d.role != "flagged"]
    # Two laps fix the scale; all others and the medians must lie on it.
    low, high = times.index(min(times)), times.index(max(times))
    scale = (dots[low] - dots[high]) / (times[high] - times[low])
    for time, y in zip(times, dots, strict=True):
        assert y == pytest.approx(dots[high] + (times[high] - time) * scale, abs=1e-6)
    medians = [one.pace for one in circuit.fields[0].sessions if one.pace.median_s > 0.0]
    for level, pace in zip(chart.levels, medians, strict=True):
        expected = dots[high] + (times[high] - pace.median_s) * scale
        assert level.y == pytest.approx(expected, abs=1e-6)
        assert level.bar == pytest.approx(pace.median_sd_s * scale)
    assert min(dots) > 0.0
    assert max(dots) < LAPS_PX


def test_a_corners_means_with_their_bars(circuit: CircuitData) -> None:
    dry = circuit.fields[0]
    charts = corner_charts(dry, 4, "corner 4", Units("mph"))
    assert [c.axis for c in charts] == [
        "braking before corner [m]", "minimum speed [mph]", "time through [s]"
    ]  # fmt: skip
    speed = charts[1]
    typical = [one.corners[4].typical.get("min_speed_mps") for one in dry.sessions]
    known = [one for one in typical if one is not None]
    assert len(speed.dots) == len(known) == 3
    # Bars and means share one scale, faster up.
    scale = speed.dots[0].bar / known[0].sd
    for dot, one in zip(speed.dots, known, strict=True):
        assert dot.bar == pytest.approx(one.sd * scale)
        below = (known[0].mean - one.mean) * scale
        assert dot.y == pytest.approx(speed.dots[0].y + below, abs=1e-6)
        assert 0.0 < dot.y - dot.bar < dot.y + dot.bar < CORNER_PX
    # Only a driver's own sessions are joined.
    assert len(speed.joins) == 1
    assert speed.joins[0][4] == shape_of(dry, dry.sessions[0])
