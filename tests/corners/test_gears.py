"""Gears: found where engine speed over speed clusters, and not where it does not."""

import numpy as np
import pytest

from lapwright.corners.gears import Gears, find_gears

# Engine speed over speed of four gears [(1/min) / (m/s)].
RATIOS = (280.0, 200.0, 155.0, 125.0)


def driven(slip: float = 0.005, between: float = 0.05) -> tuple[np.ndarray, np.ndarray]:
    """Speeds in each gear, the ratio scattered by slip, a share of samples with the clutch down."""
    rng = np.random.default_rng(11)
    gear = rng.integers(0, len(RATIOS), 4000)
    speed = rng.uniform(10.0, 55.0, len(gear))
    rpm = np.array(RATIOS)[gear] * speed * np.exp(rng.normal(0.0, slip, len(gear)))
    loose = rng.uniform(size=len(gear)) < between
    rpm[loose] = rng.uniform(1000.0, 7000.0, loose.sum())
    return rpm, speed


def test_gears_are_found_with_their_ratios() -> None:
    gears = find_gears(*driven())
    assert gears is not None
    # The median of a thousand values that scatter by 0.005 is good to 0.0002 (1.25 sd / sqrt n).
    np.testing.assert_allclose(gears.ratio_rpm_per_mps, RATIOS, rtol=0.001)


def test_a_gear_is_counted_from_the_lowest_and_nothing_is_said_between_two() -> None:
    gears = Gears(RATIOS)
    speed = np.full(4, 20.0)
    np.testing.assert_array_equal(gears.gear(np.array(RATIOS) * 20.0, speed), [1, 2, 3, 4])
    assert np.isnan(gears.gear(np.array([240.0 * 20.0]), np.array([20.0]))).all()
    # Too slow to tell, and a still engine.
    assert np.isnan(gears.gear(np.array([280.0 * 5.0, 0.0]), np.array([5.0, 20.0]))).all()


@pytest.mark.parametrize(
    ("slip", "between"), [(0.12, 0.05), (0.005, 0.5)], ids=["smeared", "mostly between"]
)
def test_where_they_do_not_stand_apart_nothing_is_said(slip: float, between: float) -> None:
    assert find_gears(*driven(slip, between)) is None


def test_one_gear_and_hardly_any_samples_are_nothing() -> None:
    speed = np.linspace(10.0, 50.0, 500)
    assert find_gears(200.0 * speed, speed) is None
    assert find_gears(np.array([2000.0, 4000.0]), np.array([20.0, 20.0])) is None
    assert find_gears(np.full(500, np.nan), speed) is None


def test_a_speed_that_has_nothing_to_do_with_the_engine_shows_no_gear() -> None:
    rng = np.random.default_rng(2)
    rpm, speed = rng.uniform(1500.0, 7000.0, 3000), rng.uniform(10.0, 50.0, 3000)
    assert find_gears(rpm, speed) is None
