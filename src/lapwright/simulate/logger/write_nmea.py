"""Write a recording as NMEA 0183 sentences: RMC and GGA for every fix."""

from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.simulate.logger.files import write_whole
from lapwright.simulate.logger.receiving import Recording
from lapwright.simulate.logger.write_csv import as_written

KNOT_MPS = 1852 / 3600


def sentence(body: str) -> str:
    """A sentence with its checksum, the XOR of the characters between ``$`` and ``*``."""
    return f"${body}*{reduce(xor, body.encode('ascii')):02X}"


def write_nmea(
    recording: Recording,
    path: str | Path,
    start_utc: str = "2026-02-06T00:00:00Z",
    *,
    corrupt_lines: int = 0,
) -> None:
    """
    Write a recording as NMEA 0183.

    Parameters
    ----------
    recording : Recording
        Seconds before its first fix are written as sentences without a position.
    path : str or Path
    start_utc : str
        UTC at the begin of the run, ISO 8601.
    corrupt_lines : int
        So many lines get a wrong character, which their checksum shows.
    """
    start = pd.Timestamp(start_utc)
    lines: list[str] = []
    for second in np.arange(0.0, recording.zero_s - 1.0).tolist():
        at = start + pd.Timedelta(seconds=second)
        lines.append(sentence(f"GNRMC,{at:%H%M%S}.00,V,,,,,,,{at:%d%m%y},,,N"))
    rows = as_written(recording)
    when = start + pd.to_timedelta(np.round(rows["stamp_s"].to_numpy() * 1e3), unit="ms")
    speeds = rows["speed_mps"].to_numpy() / KNOT_MPS if "speed_mps" in rows else None
    courses = rows["course_deg"].to_numpy() if "course_deg" in rows else None
    places = zip(
        when,
        _minutes(rows["lat_deg"].to_numpy(), "NS", 2),
        _minutes(rows["lon_deg"].to_numpy(), "EW", 3),
        rows["height_m"].tolist(),
        strict=True,
    )
    for k, (at, lat, lon, height) in enumerate(places):
        clock = f"{at:%H%M%S}.{at.microsecond // 1000:03d}"
        speed = "" if speeds is None else f"{speeds[k]:.3f}"
        course = "" if courses is None else f"{courses[k]:.2f}"
        lines.append(sentence(f"GNRMC,{clock},A,{lat},{lon},{speed},{course},{at:%d%m%y},,,A"))
        lines.append(sentence(f"GNGGA,{clock},{lat},{lon},1,14,0.8,{height:.1f},M,0.0,M,,"))
    rng = np.random.default_rng([7406, recording.seed])
    for k in rng.choice(len(lines), corrupt_lines, replace=False).tolist():
        at_char = int(rng.integers(8, len(lines[k]) - 4))
        other = "7" if lines[k][at_char] != "7" else "3"
        lines[k] = lines[k][:at_char] + other + lines[k][at_char + 1 :]
    write_whole(path, ("\r\n".join(lines) + "\r\n").encode("ascii"))


def _minutes(
    degrees: np.ndarray[tuple[int], np.dtype[np.float64]], sides: str, digits: int
) -> list[str]:
    """Degrees as ``dddmm.mmmmmm,side``; six decimals of a minute are 2 mm."""
    size = np.round(np.abs(degrees) * 60e6)
    whole = np.floor(size / 60e6)
    minutes = (size - whole * 60e6) / 1e6
    return [
        f"{int(w):0{digits}d}{m:09.6f},{sides[0] if d >= 0 else sides[1]}"
        for w, m, d in zip(whole.tolist(), minutes.tolist(), degrees.tolist(), strict=True)
    ]
