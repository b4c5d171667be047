"""A log written as CSV reads as what it was; nothing that is there is written over."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from two_loggers import drive, two_loggers

from lapwright.errors import OutputError
from lapwright.ingest import read_log
from lapwright.two_logs import with_channels_of, write_log

SAMPLES = Path(__file__).parents[2] / "sample_sessions"


def test_what_was_joined_is_read_again(tmp_path: Path) -> None:
    one, other = two_loggers(drive(), rate_hz=5.0, sensors=True).logs
    joined = with_channels_of(one, other)
    again = read_log(write_log(joined, tmp_path / "joined.csv"))
    assert len(again.fixes) == len(one.fixes)
    for name, digits in (("time_s", 2e-6), ("lat_deg", 1e-9), ("speed_mps", 1e-4)):
        assert np.abs(again.fixes[name] - one.fixes[name]).max() <= digits, name
    assert again.roles == joined.roles
    named = [n for n in again.channels if n.startswith("oil_pressure_bar")]
    values = again.channels[named[0]].dropna().to_numpy()
    assert values == pytest.approx(other.channels["oil_pressure_bar"].to_numpy())
    times = again.channels.loc[again.channels[named[0]].notna(), "time_s"].to_numpy()
    assert np.abs(times - joined.channels["time_s"].to_numpy()).max() < 2e-6


@pytest.mark.parametrize("name", ["saturday_qualifying.gpx", "saturday_practice.csv"])
def test_a_copy_of_a_sample_has_the_same_times_and_channels(name: str, tmp_path: Path) -> None:
    log = read_log(SAMPLES / name)
    again = read_log(write_log(log, tmp_path / "copy.csv"))
    assert again.start_utc == log.start_utc
    assert np.abs(again.fixes["time_s"] - log.fixes["time_s"]).max() < 2e-6
    assert again.roles == log.roles
    assert [n for n in again.channels if n not in ("line", "time_s")] == [
        n for n in log.channels if n not in ("line", "time_s")
    ]
    assert again.channel_units == log.channel_units


def test_names_and_texts_that_look_like_formulas_stay_as_they_are(tmp_path: Path) -> None:
    log = read_log(SAMPLES / "saturday_qualifying.gpx")
    moments = log.fixes[["line", "time_s"]]
    channels = moments.assign(**{"+5V supply": 5.01, "-ve bus": -0.2, "gear": "+x"})
    named = replace(log, channels=channels, channel_units={}, roles={})
    again = read_log(write_log(named, tmp_path / "copy.csv"))
    assert {"+5V supply", "-ve bus", "gear"} <= set(again.channels)
    assert set(again.channels["gear"]) == {"+x"}


def test_a_file_that_is_there_is_left_alone(tmp_path: Path) -> None:
    log = read_log(SAMPLES / "saturday_qualifying.gpx")
    there = tmp_path / "race.csv"
    there.write_text("my only log\n", encoding="utf-8")
    with pytest.raises(OutputError, match="is there already and is not overwritten"):
        write_log(log, there)
    assert there.read_text(encoding="utf-8") == "my only log\n"
    with pytest.raises(OutputError, match=r"Let its name end with \.csv"):
        write_log(log, tmp_path / "race.gpx")


def test_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = read_log(SAMPLES / "saturday_qualifying.gpx")

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(OutputError, match="No space left"):
        write_log(log, tmp_path / "copy.csv")
    assert list(tmp_path.iterdir()) == []
    assert isinstance(log.fixes, pd.DataFrame)
