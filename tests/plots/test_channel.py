"""The driver's channels below the speed: what is drawn is the channel, in its own unit."""

import re

import matplotlib.pyplot as plt
import numpy as np
import pytest
from worlds import World

from lapwright import plots
from lapwright.corners.driver_inputs import Channel


@pytest.fixture
def channels(drawn: World) -> dict[str, Channel]:
    """A brake that goes up and down once in 7 s, with a hole of 20 s."""
    time = np.arange(0.0, drawn.session.motion.end_s, 0.1)
    time = time[(time < 150.0) | (time > 170.0)]
    return {"brake": Channel("p1", time, np.sin(time / 7.0) ** 2, 2.0, 40.0, "bar")}


def test_draws_the_channel_of_each_lap_on_the_axes_it_is_given(
    drawn: World, channels: dict[str, Channel]
) -> None:
    session = drawn.session
    traces = [session.trace(n) for n in session.timed_laps[:2]]
    _, given = plt.subplots()
    ax = plots.channel(channels, "brake", traces, given, session.corners, "mph,ft")
    assert ax is given
    assert ax.get_ylabel() == "brake [bar]"
    assert re.search(r"\[ft\]", ax.get_xlabel())
    assert [line.get_label() for line in ax.lines] == [f"lap {t.lap}" for t in traces]
    for line, trace in zip(ax.lines, traces, strict=True):
        value = np.ma.filled(np.ma.asarray(line.get_ydata()).astype(float), np.nan)
        moment = np.interp(line.get_xdata(), trace.station_m, trace.time_s)
        true = np.where(
            (moment > 149.95) & (moment < 170.0), np.nan, 2.0 + 40.0 * np.sin(moment / 7.0) ** 2
        )
        # Straight lines over 0.1 s of a wave of 7 s are off by less than 0.005 of its height.
        np.testing.assert_allclose(value, true, atol=0.1)


def test_without_such_a_channel_or_a_lap_it_warns(
    drawn: World, channels: dict[str, Channel]
) -> None:
    with pytest.warns(UserWarning, match="no channel for throttle"):
        assert not plots.channel(channels, "throttle", [drawn.session.trace(1)]).lines
    with pytest.warns(UserWarning, match="no lap"):
        plots.channel(channels, "brake", [])
