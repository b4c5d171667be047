"""Whose clock a log goes by."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lapwright.ingest import read_log

PLACES = [f"{52.0 + 1e-5 * i:.7f},{5.0 + 2e-5 * i:.7f}" for i in range(60)]


def log_of(folder: Path, header: str, stamps: list[str]) -> bool:
    file = folder / "log.csv"
    lines = [f"{s},{p}" for s, p in zip(stamps, PLACES, strict=True)]
    file.write_text("\n".join([f"{header},lat,lon", *lines]) + "\n", encoding="utf-8")
    log = read_log(file)
    assert not replace(log, own_clock=False).own_clock
    return log.own_clock


@pytest.mark.parametrize(
    ("header", "stamp", "own"),
    [
        ("time [s]", "{0:.1f}", True),
        ("elapsed time", "00:00:{0:04.1f}", True),
        ("utc", "2024-06-15T13:00:{0:04.1f}Z", False),
        ("GPS time of week (s)", "{1:.1f}", False),
        ("GPS week,Time of week (s)", "2331,{1:.1f}", False),
    ],
)
def test_a_running_time_is_the_loggers_own(
    tmp_path: Path, header: str, stamp: str, own: bool
) -> None:
    stamps = [stamp.format(t, 80_000.0 + t) for t in np.arange(60) / 10]
    assert log_of(tmp_path, header, stamps) is own


def test_steps_from_a_finer_running_time_are_its_own(tmp_path: Path) -> None:
    stamps = [f"2024-06-15T13:00:{int(t):02d}Z,{t + 7.0:.1f}" for t in np.arange(60) / 10]
    assert log_of(tmp_path, "utc,time [s]", stamps)
