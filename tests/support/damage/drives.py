"""Short good logs of one drive in every notation that is read, to be damaged."""

import dataclasses
import tempfile
from functools import cache
from pathlib import Path

from lapwright import simulate as sim

_HEADERS = (
    ("time", "Local time"), ("lat_deg", "Latitude (deg)"), ("lon_deg", "Longitude (deg)"),
    ("height_m", "Height (m)"), ("speed_mps", "Speed (km/h)"), ("course_deg", "Course (deg)"),
    ("rpm", "rpm"), ("throttle_pct", "throttle [%]"), ("brake_bar", "brake pressure [bar]"),
)  # fmt: skip
STYLES = {
    "elapsed": sim.CsvStyle(),
    "stamps": sim.CsvStyle(
        delimiter=";", decimal=",", time="local", utc_offset_h=10.0, headers=_HEADERS,
        preamble=("Session;test", "Driver;Runa"), quoted=True, crlf=True, bom=True,
    ),
    "epoch": sim.CsvStyle(delimiter="\t", time="epoch", headers=_HEADERS, channel_every=4),
    "of_day": sim.CsvStyle(time="time_of_day", headers=_HEADERS[:5]),
    "weeks": sim.CsvStyle(
        time="gps_week", headers=(("gps_week", "gps week"), ("time", "gps tow"), *_HEADERS[1:6])
    ),
}  # fmt: skip


@cache
def good_logs(laps: int = 3, rate_hz: float = 1.0) -> dict[str, bytes]:
    """
    The bytes of good logs by their file names.

    Parameters
    ----------
    laps : int
        Timed laps of some 100 s; the laps to and from the pit lane come on top.
    rate_hz : float
    """
    receiver = dataclasses.replace(sim.ORDINARY, rate_hz=rate_hz)
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((laps,)), seed=1)
    drive = sim.receive(run, receiver, seed=2, engine=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for style in STYLES:
            sim.write_csv(drive, folder / f"{style}.csv", STYLES[style])
        sim.write_gpx(drive, folder / "drive.gpx")
        sim.write_nmea(drive, folder / "drive.nmea")
        return {file.name: file.read_bytes() for file in sorted(folder.iterdir())}


@cache
def good_track() -> bytes:
    """A track file of the circuit of `good_logs`."""
    with tempfile.TemporaryDirectory() as name:
        file = Path(name) / "track.geojson"
        sim.write_track(sim.invented("wren_hollow"), file)
        return file.read_bytes()


def short(log: bytes, lines: int = 40) -> bytes:
    """The first lines of a log and its last one: enough for a reader, and quick."""
    every = log.splitlines(keepends=True)
    return b"".join((*every[:lines], every[-1])) if len(every) > lines else log
