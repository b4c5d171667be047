"""Pedals drawn by hand with straight lines, for which every figure is counted on paper."""

import numpy as np
import pytest

from lapwright.corners.driver_inputs import Channel
from lapwright.corners.pedal_use import (
    braking_use,
    closed_share,
    full_throttle_s,
    hesitations,
)


def drawn(*corners: tuple[float, float], step_s: float = 0.05, unit: float = 1.0) -> Channel:
    """A channel through given points (time, share), sampled evenly."""
    time = np.arange(corners[0][0], corners[-1][0] + 1e-9, step_s)
    value = np.interp(time, *np.array(corners).T)
    return Channel("pedal", time, value, 0.0, unit, "bar")


# Up in 0.5 s, held for 1 s, down in 2 s: on at 1.05 s (a tenth), off at 4.3 s.
BRAKE = drawn((0.0, 0.0), (1.0, 0.0), (1.5, 1.0), (2.5, 1.0), (4.5, 0.0), (6.0, 0.0), unit=40.0)
ON_S, OFF_S = 1.05, 4.3


def test_a_braking_of_straight_lines() -> None:
    # Turned in at 3.5 s.  Nine tenths of the peak: 1.45 s on the way up, 2.7 s on the way down.
    use = braking_use(BRAKE, ON_S, 6.0, 3.5, 0.0)
    assert use["brake_peak"] == pytest.approx(40.0)
    assert use["brake_to_peak_s"] == pytest.approx(1.45 - ON_S, abs=1e-9)
    assert use["brake_off_s"] == pytest.approx(OFF_S, abs=1e-9)
    assert use["release_s"] == pytest.approx(OFF_S - 2.7, abs=1e-9)
    assert use["release_turning_share"] == pytest.approx((OFF_S - 3.5) / (OFF_S - 2.7), abs=1e-9)
    # Areas under the line from on to off: two trapezia about a rectangle.
    area = 0.55 * 0.45 + 1.0 * 1.0 + 0.55 * 1.8
    assert use["brake_mean"] == pytest.approx(40.0 * area / (OFF_S - ON_S), abs=1e-6)


def test_the_share_of_the_release_lies_between_nothing_and_all() -> None:
    assert braking_use(BRAKE, ON_S, 6.0, 1.2, 0.0)["release_turning_share"] == 1.0
    assert braking_use(BRAKE, ON_S, 6.0, 5.0, 0.0)["release_turning_share"] == 0.0
    assert np.isnan(braking_use(BRAKE, ON_S, 6.0, np.nan, np.nan)["release_turning_share"])


def test_a_doubtful_turn_in_makes_the_share_doubtful() -> None:
    sure, doubtful = (
        braking_use(BRAKE, ON_S, 6.0, 3.5, sd)["release_turning_share_sd"] for sd in (0.0, 0.5)
    )
    # The release takes 1.6 s, so 0.5 s of turn-in are 0.3125 of it.
    assert np.sqrt(doubtful**2 - sure**2) == pytest.approx(0.5 / 1.6, abs=1e-9)


def test_a_dab_has_a_peak_and_no_release() -> None:
    dab = drawn((0.0, 0.0), (1.0, 0.0), (1.2, 0.15), (1.6, 0.15), (1.8, 0.0), (3.0, 0.0))
    on_s = dab.rises(0.0, 3.0)
    assert on_s is not None
    use = braking_use(dab, on_s, 3.0, 1.3, 0.0)
    assert use["brake_peak"] == pytest.approx(0.15)
    assert np.isnan(use["release_s"])
    assert np.isnan(use["brake_to_peak_s"])


def test_nothing_is_said_across_a_hole_or_of_a_brake_that_stays_on() -> None:
    keep = (BRAKE.time_s < 2.0) | (BRAKE.time_s > 3.0)
    holed = Channel("pedal", BRAKE.time_s[keep], BRAKE.value[keep])
    assert np.isnan(list(braking_use(holed, ON_S, 6.0, 3.5, 0.0).values())).all()
    assert np.isnan(list(braking_use(BRAKE, ON_S, 2.0, 3.5, 0.0).values())).all()


def test_error_bars_are_those_of_samples_that_are_even_between_two_steps() -> None:
    # A variable even over a step has an sd of step / sqrt(12).  Values that come in steps of 0.025,
    # as on the way down here, may have been rounded to them: that blurs each of the two moments by
    # as much again.
    use = braking_use(BRAKE, ON_S, 6.0, 3.5, 0.0)
    assert use["release_sd_s"] == pytest.approx(0.05 * (4.0 / 12.0) ** 0.5, rel=1e-6)


# Opened to 0.6, closed to 0.3 and opened again, then a nod of 0.1 that is none, then fully open.
THROTTLE = drawn(
    (0.0, 0.0), (1.0, 0.0), (1.6, 0.6), (2.0, 0.6), (2.3, 0.3), (2.6, 0.3), (2.9, 0.6), (3.2, 0.8),
    (3.4, 0.7), (3.6, 0.8), (4.0, 1.0), (6.0, 1.0),
)  # fmt: skip


def test_one_closing_by_a_clear_amount_is_one_hesitation() -> None:
    # 0.12 below the highest so far (0.6): from 2.12 s on the way down to 2.78 s on the way up.
    assert hesitations(THROTTLE, 1.2, 4.0) == [pytest.approx((2.12, 2.78), abs=1e-9)]


def test_two_closings_are_two_and_one_that_lasts_ends_with_the_corner() -> None:
    again = drawn((0.0, 0.0), (1.0, 1.0), (2.0, 0.5), (3.0, 1.0), (4.0, 0.0), (6.0, 0.0))
    found = hesitations(again, 0.2, 5.0)
    # Slopes of a half a second, then of one.
    wanted = [(1.0 + 0.24, 3.0 - 0.24), (3.0 + 0.12, 5.0)]
    np.testing.assert_allclose(found, wanted, atol=0.051)
    np.testing.assert_allclose(found[0], wanted[0], atol=1e-9)


def test_noise_is_no_hesitation() -> None:
    time = np.arange(0.0, 20.0, 0.05)
    noise = np.random.default_rng(3).normal(0.0, 0.04, len(time))
    rising = Channel("pedal", time, 0.1 + 0.04 * time + noise)
    # The sd of 400 values is good to 4 % (1 / sqrt(2 n)), by medians to 6 %.
    assert rising.noise == pytest.approx(0.04, rel=0.18)
    assert hesitations(rising, 1.0, 19.0) == []
    # With twice the fall it is seen all the same.
    fallen = Channel("pedal", time, rising.value - 0.5 * (np.abs(time - 12.0) < 1.0))
    assert len(hesitations(fallen, 1.0, 19.0)) == 1


def test_full_throttle_is_nine_tenths() -> None:
    # From 0.8 at 3.6 s to 1.0 at 4.0 s.
    assert full_throttle_s(THROTTLE, 1.2, 6.0) == pytest.approx(3.8, abs=1e-9)
    assert np.isnan(full_throttle_s(THROTTLE, 1.2, 3.5))


def test_the_time_below_a_level_leaves_out_a_blip() -> None:
    # A triangle up to 0.4 between 1 and 2 s is above 0.2 for half of its second.
    blip = drawn((0.0, 0.0), (1.0, 0.0), (1.5, 0.4), (2.0, 0.0), (4.0, 0.0), step_s=0.5)
    time, closed = closed_share(blip, 0.7, 3.3, 0.2)
    assert closed @ np.diff(time) == pytest.approx(2.6 - 0.5, abs=1e-9)
    assert time[0] == 0.7
    assert time[-1] == 3.3
