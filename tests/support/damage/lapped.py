"""Cutting a log into laps, held to the promises as its reading is."""

import tempfile
from functools import cache
from pathlib import Path

import numpy as np

from damage.drives import good_track
from damage.promises import BrokenPromise
from damage.targets import log
from lapwright.geometry import Track, read_track
from lapwright.session import Session


@cache
def _the_track() -> Track:
    with tempfile.TemporaryDirectory() as name:
        file = Path(name) / "track.geojson"
        file.write_bytes(good_track())
        return read_track(file)


def laps(path: Path) -> None:
    """Read a log and cut it into laps."""
    found = log(path)
    table = Session(found, _the_track()).laps
    times = table["time_s"].dropna()
    if not (np.isfinite(times) & (times > 0.0)).all():
        msg = f"laps: times {times.tolist()}"
        raise BrokenPromise(msg)
