"""Each invariant of a log speaks when it is broken, and none does for a log that is well."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from lapwright.ingest import Finding, Log, read_log
from lapwright.ingest.invariants import BrokenLogError, broken_invariants, check_log


@pytest.fixture(scope="module")
def log(tmp_path_factory, make_drive, write_csv, iso) -> Log:
    d = make_drive(count=60)
    header = ["time", "lat", "lon", "speed", "height", "oil", "line"]
    columns = [
        iso(d.time_ns), d.lat_deg.astype(str), d.lon_deg.astype(str), d.speed_mps.astype(str),
        ["12.5"] * 60, ["90"] * 60, ["3"] * 60,
    ]  # fmt: skip
    return read_log(write_csv(tmp_path_factory.mktemp("log") / "a.csv", header, columns))


def fixes(**columns: object) -> Callable[[Log], Log]:
    return lambda log: replace(log, fixes=log.fixes.assign(**columns))


def channels(**columns: object) -> Callable[[Log], Log]:
    return lambda log: replace(log, channels=log.channels.assign(**columns))


def with_(**values: object) -> Callable[[Log], Log]:
    return lambda log: replace(log, **values)


def one(value: float, at: int = 5) -> Callable[[pd.DataFrame], np.ndarray]:
    """Give the speed with one value replaced."""
    return lambda table: np.where(np.arange(len(table)) == at, value, table["speed_mps"])


BROKEN = {
    "lack": lambda log: replace(log, fixes=log.fixes.drop(columns="frozen")),
    "too many": fixes(throttle=1.0),
    "wrong type in line": fixes(line=1.0),
    "wrong type in speed_mps": fixes(speed_mps=1),
    "does not count from 0": lambda log: replace(log, fixes=log.fixes.iloc[3:]),
    "fewer than two": lambda log: replace(log, fixes=log.fixes.iloc[:1]),
    "instead of 0": fixes(time_s=lambda t: t["time_s"] + 1.0),
    "no time": fixes(time_s=np.nan),
    "always increase": fixes(time_s=0.0),
    "span 11.6 days": fixes(time_s=lambda t: t["time_s"] * 1e6 / t["time_s"].iloc[-1]),
    "no position": fixes(lat_deg=np.nan),
    "not on the globe": fixes(lon_deg=180.0),
    "km apart": fixes(lat_deg=lambda t: t.index / 10.0),
    "fix stands on a line": fixes(line=0),
    "speed_mps is inf": fixes(speed_mps=one(np.inf)),
    "speed_mps is -1": fixes(speed_mps=one(-1.0)),
    "speed_mps is 1e[+]19": fixes(speed_mps=one(1e19)),
    "course_deg is 360": fixes(course_deg=360.0),
    "height_m is": fixes(height_m=1e6),
    "begin with line": lambda log: replace(log, channels=log.channels[["time_s", "line"]]),
    "line or time_s of the channels": channels(line="a"),
    "index of the channels": lambda log: replace(log, channels=log.channels.iloc[2:]),
    "name the channels": with_(channel_units={}),
    "channel stands on a line": channels(line=0),
    "role leads": with_(roles={"brake": "nothing"}),
    "channels fall": channels(time_s=lambda t: -t["time_s"]),
    "long before or after": channels(time_s=1e9),
    "channel 'oil' is infinite": channels(oil=np.inf),
    "time scale": with_(time_scale="tai"),
    "rate is 0 Hz": with_(rate_hz=0.0),
    "rate is 1e[+]09 Hz": with_(rate_hz=1e9),
    "first_fix_s": with_(first_fix_s=np.inf),
    "start_utc": with_(start_utc=pd.Timestamp("2024-06-15")),
    "finding 'gap'": with_(findings=(Finding("gap", "", ((0, 0),)),)),
    "column 'oil'": lambda log: replace(
        log, columns=tuple(replace(one, filled=2.0) for one in log.columns if one.name == "oil")
    ),
}  # fmt: skip


def test_a_log_that_is_well_goes_through(log) -> None:
    assert broken_invariants(log) == ()
    assert check_log(log) is log


def test_a_channel_called_like_our_own_column_gets_another_name(log) -> None:
    assert list(log.channels) == ["line", "time_s", "oil", "line (2)"]
    assert log.channels["line"].tolist() == list(range(2, 62))
    assert log.channels["line (2)"].eq(3.0).all()


@pytest.mark.parametrize("what", BROKEN)
def test_what_is_broken_is_said_with_the_name_of_the_reader(what, log) -> None:
    with pytest.raises(BrokenLogError, match=f"reader 'csv' made.*{what}"):
        check_log(BROKEN[what](log))


def test_channels_are_in_order_of_time_where_the_lines_are_not(
    tmp_path, make_drive, write_csv, iso
) -> None:
    d = make_drive(count=60)
    order = np.r_[0:20, 30:40, 20:30, 40:60]
    columns = [iso(d.time_ns), d.lat_deg.astype(str), d.lon_deg.astype(str), ["90"] * 60]
    shuffled = [np.array(column)[order] for column in columns]
    log = read_log(write_csv(tmp_path / "a.csv", ["time", "lat", "lon", "oil"], shuffled))
    assert "disorder" in {note.code for note in log.findings}
    assert log.channels["time_s"].tolist() == log.fixes["time_s"].tolist()
    assert log.channels["line"].tolist() == log.fixes["line"].tolist()
