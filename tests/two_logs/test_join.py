"""One log's channels on another's time axis."""

from dataclasses import replace

import numpy as np
import pytest
from two_loggers import TwoLoggers, drive, two_loggers

from lapwright.session import Session
from lapwright.two_logs import align_logs, with_channels_of


@pytest.fixture(scope="module")
def two() -> TwoLoggers:
    return two_loggers(drive(), sensors=True)


def test_channels_stand_at_their_true_times(two: TwoLoggers) -> None:
    one, other = two.logs
    joined = with_channels_of(one, other)
    assert joined.fixes is one.fixes
    assert joined.roles == other.roles
    assert joined.channel_units["oil_temp_c"] == "°C"
    # When each value was truly taken, on the one's axis.
    true_s = two.other.fixes["true_time_s"].to_numpy() - two.one.zero_s
    assert np.abs(joined.channels["time_s"].to_numpy() - true_s).max() < 0.02
    assert joined.channels["rpm"].to_numpy() == pytest.approx(two.other.fixes["rpm"].to_numpy())


def test_they_stand_on_the_laps_of_the_other(two: TwoLoggers) -> None:
    one, other = two.logs
    session = Session(with_channels_of(one, other), repeat_line=False, cache=None)
    assert set(session.car["kind"]) >= {"oil_pressure", "water_temperature"}
    # The other logger was on from 121.7 s of the drive: on the first lap its values begin late.
    assert set(session.driver_laps["lap"]) == set(session.timed_laps)


def test_names_of_both_are_kept_apart(two: TwoLoggers) -> None:
    _, other = two.logs
    mine = replace(other, path=other.path.with_name("mine.csv"))
    joined = with_channels_of(mine, other, align_logs(other, other))
    assert {"rpm", "rpm (simulated)"} <= set(joined.channels)
    assert joined.roles["rpm"] == "rpm"
    assert len(joined.channels) == 2 * len(other.channels)
    assert (np.diff(joined.channels["time_s"]) >= 0.0).all()
    assert set(joined.channels.loc[joined.channels["rpm (simulated)"].notna(), "line"]) == {0}


def test_a_log_without_channels_gives_none(two: TwoLoggers) -> None:
    one, other = two.logs
    assert with_channels_of(other, one) is other
