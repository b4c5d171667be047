"""Pedals: when a channel made by hand goes on and off, and what of a log is a channel at all."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.corners.driver_inputs import Channel, driver_channel, driver_channels
from lapwright.ingest.log import Log

# Pressed twice: up from 1 to 2 s, down from 4 to 5 s, up from 6 to 7 s, down from 8 to 9 s.
PEDAL = Channel(
    "pedal",
    np.array([0.0, 1.0, 2.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0]),
    np.array([0.0, 0.0, 1.0, 1.0, 0.0, 0.0, 1.0, 1.0, 0.0, 0.0]),
)


def test_on_is_a_tenth_of_the_way_and_off_is_below_nine_tenths() -> None:
    # On straight ramps of one second: a tenth of the way up, a tenth of the way down.
    assert PEDAL.rises(0.0, 5.5) == pytest.approx(1.1, abs=1e-12)
    assert PEDAL.falls(0.0, 5.5) == pytest.approx(4.1, abs=1e-12)
    assert PEDAL.rises(0.0, 5.5, level=0.25) == pytest.approx(1.25, abs=1e-12)
    assert PEDAL.falls(0.0, 5.5, level=0.25) == pytest.approx(4.75, abs=1e-12)


def test_of_two_presses_the_first_rise_and_the_last_fall_count() -> None:
    assert PEDAL.rises(0.0, 10.5) == pytest.approx(1.1, abs=1e-12)
    assert PEDAL.falls(0.0, 10.5) == pytest.approx(8.1, abs=1e-12)


def test_only_what_lies_between_the_two_times_is_looked_at() -> None:
    assert PEDAL.rises(4.5, 10.5) == pytest.approx(6.1, abs=1e-12)
    assert PEDAL.falls(0.0, 7.5) == pytest.approx(4.1, abs=1e-12)
    # Held all the time, released all the time, and a single value: nothing changes.
    assert PEDAL.rises(2.0, 4.5) is None
    assert PEDAL.falls(5.0, 6.5) is None
    assert PEDAL.rises(1.5, 2.5) is None
    assert PEDAL.rises(20.0, 30.0) is None


def log_with(values: "list[object] | np.ndarray", roles: dict[str, str], name: str = "p1") -> Log:
    """A log with one channel of 100 values a second, and the rest of what a log has."""
    time = 0.01 * np.arange(len(values))
    fixes = pd.DataFrame(
        {"line": [2, 3], "time_s": [0.0, 1.0], "lat_deg": [0.0, 0.0], "lon_deg": [0.0, 0.0],
         "frozen": [False, False]}
    )  # fmt: skip
    channels = pd.DataFrame({"line": np.arange(len(values)), "time_s": time, name: values})
    return Log(Path("made_up.csv"), "csv", fixes, channels, "relative", 0.0, None, 1.0, roles=roles)


def test_a_channel_is_scaled_to_its_own_range() -> None:
    # A sensor from 200 to 700 counts: half of its travel at 450, from zero to one.
    raw = np.repeat([200.0, 450.0, 700.0], 100)
    channel = driver_channel(log_with(raw, {"brake": "p1"}), "brake")
    assert channel is not None
    assert channel.name == "p1"
    np.testing.assert_allclose(channel.value, np.repeat([0.0, 0.5, 1.0], 100), atol=1e-12)
    np.testing.assert_allclose(channel.time_s, 0.01 * np.arange(300), atol=1e-12)


def test_a_spike_does_not_set_the_range() -> None:
    # One reading in 200 far above and one far below: full travel is still full travel.
    raw = np.repeat([0.0, 100.0], 100)
    raw[[20, 150]] = -5000.0, 5000.0
    channel = driver_channel(log_with(raw, {"throttle": "p1"}), "throttle")
    assert channel is not None
    assert channel.value[50] == pytest.approx(0.0, abs=1e-12)
    assert channel.value[170] == pytest.approx(1.0, abs=1e-12)


def test_holes_in_a_channel_are_passed_over_with_their_times() -> None:
    raw = np.repeat([0.0, 100.0], 100)
    raw[90:110] = np.nan
    channel = driver_channel(log_with(raw, {"brake": "p1"}), "brake")
    assert channel is not None
    assert len(channel.time_s) == len(channel.value) == 180
    # From the last reading before the hole, 0.89 s, to the first behind it, 1.10 s: 0.21 s.
    assert channel.rises(0.0, 2.0) == pytest.approx(0.89 + 0.1 * 0.21, abs=1e-12)


def test_what_is_no_channel() -> None:
    moving = np.repeat([0.0, 100.0], 100)
    assert driver_channel(log_with(moving, {"brake": "p1"}), "throttle") is None
    assert driver_channel(log_with(moving, {"brake": "elsewhere"}), "brake") is None
    assert driver_channel(log_with(np.full(200, 3.0), {"brake": "p1"}), "brake") is None
    assert driver_channel(log_with(["on", "off"] * 100, {"brake": "p1"}), "brake") is None
    # Twenty numbers are a channel, nineteen are not.
    few = np.full(200, np.nan)
    few[:20] = np.arange(20.0)
    assert driver_channel(log_with(few, {"brake": "p1"}), "brake") is not None
    few[19] = np.nan
    assert driver_channel(log_with(few, {"brake": "p1"}), "brake") is None


def test_each_pedal_is_its_own_channel() -> None:
    log = log_with(np.repeat([0.0, 100.0], 100), {"brake": "p1", "throttle": "p2"})
    log.channels["p2"] = np.repeat([80.0, 0.0], 100)
    brake, throttle = driver_channel(log, "brake"), driver_channel(log, "throttle")
    assert brake is not None
    assert throttle is not None
    assert (brake.name, throttle.name) == ("p1", "p2")
    assert brake.value[0] == 0.0
    assert throttle.value[0] == 1.0


def test_a_channel_is_read_in_its_own_unit_and_not_across_a_hole() -> None:
    time = np.r_[np.arange(0.0, 2.0, 0.1), np.arange(3.0, 5.0, 0.1)]
    channel = Channel("p1", time, time / 5.0, -10.0, 50.0, "bar")
    # -10 + 50 t / 5; the hole is from 1.9 to 3.0 s, the ends are 0 and 4.9 s.
    read = channel.at([0.25, 1.95, 2.5, 3.05, 4.95, -0.1])
    np.testing.assert_allclose(read[[0, 3]], [-7.5, 20.5], atol=1e-9)
    assert np.isnan(read[[1, 2, 4, 5]]).all()
    assert channel.whole(0.2, 1.8)
    assert not channel.whole(1.0, 3.5)
    assert not channel.whole(4.0, 6.0)


def test_a_creeping_pedal_has_a_doubtful_moment() -> None:
    rng = np.random.default_rng(4)

    def ramp(per_s: float, sd: float) -> Channel:
        time = np.arange(0.0, 0.8 / per_s, 0.02)
        return Channel("p1", time, 0.1 + per_s * time + rng.normal(0.0, sd, len(time)))

    # Even over a step of 0.02 s, and noise of 0.0005 over slopes of 0.2 and 0.02 a second.  The
    # slope over 0.2 s has that noise itself, 0.0007 of 0.004 on the gentle ramp.
    even = 0.02 / 12.0**0.5
    assert ramp(0.2, 5e-4).moment_sd_s(2.0) == pytest.approx(np.hypot(even, 0.0025), rel=0.1)
    assert ramp(0.02, 5e-4).moment_sd_s(20.0) == pytest.approx(np.hypot(even, 0.025), rel=0.5)
    # However gentle, no moment is said to be worse than a second.
    assert ramp(0.001, 0.01).moment_sd_s(400.0) <= np.hypot(even, 1.0) + 1e-9


def test_noise_is_at_least_the_rounding() -> None:
    # Steps of 0.05: even rounding has an sd of 0.05 / sqrt(12).
    time = np.arange(0.0, 10.0, 0.1)
    stairs = Channel("p1", time, np.round(np.sin(time) / 0.05) * 0.05)
    assert stairs.noise >= 0.05 / 12.0**0.5 - 1e-12


def test_every_channel_there_is_in_the_order_in_which_it_is_drawn() -> None:
    wave = np.sin(0.1 * np.arange(200.0))
    log = log_with(wave, {"rpm": "p1", "throttle": "p1", "gear": "p1"})
    found = driver_channels(log)
    assert list(found) == ["throttle", "rpm"]
    np.testing.assert_allclose(found["rpm"].raw, wave, atol=1e-12)
    assert driver_channels(log_with(wave, {})) == {}
