"""Write a recording as GPX 1.1, speed and course as extensions in a namespace of our own."""

from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
import pandas as pd

from lapwright.simulate.logger.files import write_whole
from lapwright.simulate.logger.receiving import Recording
from lapwright.simulate.logger.write_csv import as_written

# A pause longer than this begins a new track segment. [s]
SEGMENT_GAP_S = 2.0


def write_gpx(
    recording: Recording,
    path: str | Path,
    start_utc: str = "2026-02-06T00:00:00Z",
    name: str = "session",
) -> None:
    """
    Write a recording as GPX 1.1.

    Parameters
    ----------
    recording : Recording
    path : str or Path
    start_utc : str
        UTC at the begin of the run, ISO 8601.
    name : str
        Name of the track.
    """
    rows = as_written(recording)
    stamp = rows["stamp_s"].to_numpy()
    when = pd.Timestamp(start_utc) + pd.to_timedelta(np.round(stamp * 1e3), unit="ms")
    speeds = rows["speed_mps"].tolist() if "speed_mps" in rows else [None] * len(rows)
    courses = rows["course_deg"].tolist() if "course_deg" in rows else [None] * len(rows)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<gpx version="1.1" creator="lapwright simulate"',
        ' xmlns="http://www.topografix.com/GPX/1/1" xmlns:m="urn:lapwright:motion">',
        f"<trk><name>{escape(name)}</name>",
        "<trkseg>",
    ]
    begins = np.r_[False, np.diff(stamp) > SEGMENT_GAP_S].tolist()
    points = zip(
        begins,
        rows["lat_deg"].tolist(),
        rows["lon_deg"].tolist(),
        rows["height_m"].tolist(),
        when,
        speeds,
        courses,
        strict=True,
    )
    for begin, lat, lon, height, time, speed, course in points:
        if begin:
            lines.append("</trkseg><trkseg>")
        more = "" if speed is None else f"<m:speed>{speed:.3f}</m:speed>"
        more += "" if course is None else f"<m:course>{course:.1f}</m:course>"
        extensions = f"<extensions>{more}</extensions>" if more else ""
        lines.append(
            f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><ele>{height:.1f}</ele>'
            f"<time>{time:%Y-%m-%dT%H:%M:%S}.{time.microsecond // 1000:03d}Z</time>"
            f"{extensions}</trkpt>"
        )
    lines.append("</trkseg></trk></gpx>")
    write_whole(path, ("\n".join(lines) + "\n").encode())
