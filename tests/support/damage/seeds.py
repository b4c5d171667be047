"""Good files for each target, to begin a search with."""

from collections.abc import Callable

from damage.drives import good_logs, good_track, short

_PATH = b"""{"type": "FeatureCollection", "name": "Small",
"direction": "anticlockwise", "features": [
{"type": "Feature", "properties": {"role": "start_finish"}, "geometry": {"type": "LineString",
"coordinates": [[4.9998, 52.0], [5.0002, 52.0]]}},
{"type": "Feature", "properties": {"role": "path", "length_sd_m": 1.5}, "geometry":
{"type": "LineString", "coordinates": [[5.0, 52.0], [4.9996, 52.0008], [4.9985, 52.0011],
[4.9974, 52.0008], [4.997, 52.0], [4.9974, 51.9992], [4.9985, 51.9989], [4.9996, 51.9992],
[5.0, 52.0]]}}, {"type": "Feature", "properties": {"role": "corner", "order": 1,
"direction": "left", "entry_m": 60.0, "apex_m": 120.0, "exit_m": 200.0, "radius_m": 100.0},
"geometry": {"type": "Point", "coordinates": [4.9985, 52.0011]}}]}
"""
_NOTES = b"""timezone = "Etc/UTC"
[limits]
oil_pressure = { min = 2.0, above_rpm = 3500 }
"EGT 1" = { max = 900 }
[logs."a.csv"]
driver = "Runa Tidewell"
conditions = "dry"
changes = ["2 clicks softer", "rear bar"]
tried = ["brake later for corner 3", 4]
tyre_set = 2
tyres_cold_bar = [1.6, 1.6]
air_temperature = 21.5
[[logs."a.csv".worth_trying]]
corner = 3
code = "braking"
"""
_MAPS = (
    b'[file]\nheader = true\ndelimiter = ","\ntime_scale = "utc"\ndate = "2026-02-06"\n'
    b'utc_offset = "+10:00"\n[columns]\ntime = "time (s)"\nlatitude = 2\n'
    b'longitude = { column = 3, unit = "deg" }\n[channels]\nspeed = "speed (km/h)"\n',
    b'columns = { time = 1, latitude = "latitude", longitude = "longitude" }\n',
)


def _logs(ending: str) -> Callable[[], list[bytes]]:
    return lambda: [short(log) for name, log in good_logs().items() if name.endswith(ending)]


SEEDS: dict[str, Callable[[], list[bytes]]] = {
    "csv": _logs(".csv"),
    "gpx": _logs(".gpx"),
    "nmea": _logs(".nmea"),
    "track": lambda: [good_track(), _PATH],
    "notes": lambda: [_NOTES],
    "map": lambda: list(_MAPS),
}
