"""The driven line: spread, correlation, planted changes."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright import simulate as sim

STILL = replace(sim.STEADY, line_sd_m=0.0)
TRACK = sim.Plan((6,), start="rolling", end="track")


def _deviation(run: sim.TrueRun) -> np.ndarray:
    """Offset from the usual line at 3000 stations of each timed lap, about 1 m apart."""
    station, usual = run.circuit.usual_line
    at = np.arange(6 * 3000) * run.circuit.length_m / 3000
    line = np.interp(at % run.circuit.length_m, station, usual, period=run.circuit.length_m)
    return np.asarray(run.offset(run.time_at(at)) - line)


def test_spread_and_correlation_length(wren: sim.Circuit) -> None:
    driver = replace(STILL, line_sd_m=0.4, line_length_m=70.0 * wren.length_m / 3000)
    deviation = np.concatenate(
        [_deviation(sim.drive(wren, driver=driver, plan=TRACK, seed=s)) for s in range(4)]
    )
    # 75 km hold some 600 independent stretches of 125 m: the sd is known to 3 %.
    assert deviation.std() == pytest.approx(0.4, rel=0.1)
    assert np.mean(deviation[70:] * deviation[:-70]) / deviation.var() == pytest.approx(
        np.exp(-1), abs=0.09
    )


def test_larger_moments_make_heavy_tails(wren: sim.Circuit) -> None:
    driver = replace(STILL, line_sd_m=0.3, wide_moments_per_lap=1.0)
    wide = np.concatenate(
        [_deviation(sim.drive(wren, driver=driver, plan=TRACK, seed=s)) for s in range(3)]
    )
    kurtosis = np.mean(wide**4) / np.mean(wide**2) ** 2
    assert kurtosis > 3.5  # 3 for a normal distribution
    assert np.abs(wide).max() < 4.0


def test_line_change_in_one_corner_from_a_lap_on(wren: sim.Circuit) -> None:
    driver = replace(STILL, habits=(sim.LineChange(4, 1.5, from_timed_lap=3),))
    changed = _deviation(sim.drive(wren, driver=driver, plan=TRACK)).reshape(6, -1)
    middle = round((wren.bends[3].entry_m + wren.bends[3].exit_m) / 2 * 3000 / wren.length_m)
    np.testing.assert_allclose(changed[:2], 0.0, rtol=0, atol=0.02)
    np.testing.assert_allclose(changed[2:, middle], 1.5, rtol=0, atol=0.02)
    elsewhere = np.delete(changed, np.arange(middle - 170, middle + 170), axis=1)
    np.testing.assert_allclose(elsewhere, 0.0, rtol=0, atol=0.02)


def test_migrating_line(wren: sim.Circuit) -> None:
    driver = replace(STILL, habits=(sim.LineMigration(1.2),), line_bias_m=0.2)
    run = sim.drive(wren, driver=driver, plan=TRACK)
    deviation = _deviation(run)
    whole = run.layout.last_m - run.layout.first_m
    begin = 0.2 + 1.2 * (-run.layout.first_m) / whole
    assert deviation[0] == pytest.approx(begin, abs=0.02)
    way = np.arange(len(deviation)) * wren.length_m / 3000
    slope = np.polyfit(way, deviation, 1)[0]
    assert slope == pytest.approx(1.2 / whole, rel=0.02)


def test_short_cut_that_cannot_be(wren: sim.Circuit) -> None:
    plan = replace(TRACK, events=(sim.ShortCut(1, corner=3),))
    with pytest.raises(ValueError, match="choose another corner"):
        sim.drive(wren, plan=plan)
