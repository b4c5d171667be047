"""Pedals: when a channel made by hand goes on and off, and what of a log is a channel at all."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.corners.driver_inputs import Channel, driver_channel
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
