"""What public calls are tried on: a small session, and valid arguments for every public call."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

import lapwright as lw
from lapwright import simulate as sim
from lapwright.coaching.before_after import Difference
from lapwright.motion.kalman.pseudo_measurements import PseudoMeasurements


@dataclass(frozen=True, eq=False)
class Small:
    """Three laps, the files they are read from, and a folder to write to."""

    session: lw.Session
    track: lw.Track
    track_file: Path
    log: lw.Log
    folder: Path
    comparison: lw.Comparison
    weekend: Any
    notes: Path
    limits: Path

    def out(self, name: str) -> Path:
        return self.folder / "out" / name


def make_small(folder: Path) -> Small:
    """Simulate, read and look at a few laps at 2 Hz, with the date they were driven on."""
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((3,)), seed=3)
    logs = folder / "logs"
    logs.mkdir()
    (folder / "out").mkdir()
    recording = sim.receive(run, replace(sim.ORDINARY, rate_hz=2.0), seed=4)
    sim.write_gpx(recording, logs / "friday.gpx")
    sim.write_track(circuit, logs / "track.geojson")
    notes, limits = logs / "weekend.toml", folder / "limits.toml"
    notes.write_text('[logs."friday.gpx"]\ndriver = "Runa"\n', encoding="utf-8")
    limits.write_text('[limits."oil temp"]\nmax = 120\nunit = "degC"\n', encoding="utf-8")
    session = lw.open_session(logs / "friday.gpx", repeat_line=False, cache=None)
    track = lw.complete_track(lw.read_track(logs / "track.geojson"), session.log)
    weekend = lw.run_weekend(logs, folder / "results", repeat_line=False, workers=1, cache=None)
    return Small(
        session, track, logs / "track.geojson", session.log, folder, session.compare(2, 1),
        weekend, notes, limits,
    )  # fmt: skip


def _rows() -> PseudoMeasurements:
    return PseudoMeasurements(
        np.array([30.0]), np.eye(1, 6), np.array([1.0]), np.eye(1), np.zeros((1, 0))
    )


def _item() -> lw.WorthTrying:
    return lw.WorthTrying(1, "minimum_speed")


def _on_the_line(w: Small) -> dict[str, Any]:
    (lat, lon), (other_lat, other_lon) = _line(w)
    heading = np.degrees(w.track.path.at(0.0).heading_rad)
    return {
        "lat_deg": (lat + other_lat) / 2.0, "lon_deg": (lon + other_lon) / 2.0,
        "heading_deg": float(90.0 - heading) % 360.0,
    }  # fmt: skip


def _line(w: Small) -> tuple[tuple[float, float], tuple[float, float]]:
    return w.track.start_finish_deg


_PLACE = {"lat_deg": -42.95, "lon_deg": 12.0}
_ON_SESSION: dict[str, Callable[[Small], dict[str, Any]]] = {
    "causes_between": lambda w: {"lap": 2, "reference": 1},
    "compare": lambda w: {"lap": 2, "reference": 1},
    "delta_sds": lambda w: {"laps": [1, 2]},
    "gaps_to": lambda w: {"other": w.session},
    "row": lambda w: {"lap": 1},
    "trace": lambda w: {"lap": 1},
    "with_limits": lambda w: {"limits": lw.read_limits(w.limits)},
    "with_notes": lambda w: {"notes": lw.LogNotes()},
}
_ON_TRACK: dict[str, Callable[[Small], dict[str, Any]]] = {
    "add_corner": lambda w: {"name": "Hatch", "at": 5.0},
    "apex_deg": lambda w: {"corner": w.track.corners[0]},
    "merge_corners": lambda w: {"first": 1, "last": 2},
    "on_plane": lambda w: {"plane": w.track.plane},
    "renamed": lambda w: {"name": "Wren"},
    "split_corner": lambda w: {"order": 1, "station_m": w.track.corners[0].apex_m},
    "with_corner_names": lambda w: {"names": {1: "Hatch"}},
    "with_corners": lambda w: {"corners": w.track.corners},
    "with_path": lambda w: {"path": w.track.path},
    "with_pit_lane": lambda w: {"lat_deg": None},
    "with_run_ups": lambda w: {"run_ups_m": [50.0] * len(w.track.corners)},
    "with_sector_at": lambda w: {"station_m": 500.0},
    "with_sectors": lambda w: {"lines_deg": w.track.sectors_deg},
    "with_start_line": lambda w: dict(zip(("left_deg", "right_deg"), _line(w), strict=True)),
    "with_start_line_at": lambda w: {
        **_on_the_line(w),
    },
    "with_start_line_at_station": lambda w: {"station_m": 10.0},
    "without_corner": lambda w: {"order": 1},
}  # fmt: skip
_ON_PATH: dict[str, Callable[[Small], dict[str, Any]]] = {
    "at": lambda w: {"station_m": [1.0]},
    "beside": lambda w: {"station_m": [1.0], "offset_m": [0.5]},
    "derivatives": lambda w: {"station_m": np.array([1.0])},
    "foot": lambda w: {"points_m": np.zeros((1, 2)), "near_m": np.zeros(1)},
    "project": lambda w: {"east_m": [1.0], "north_m": [2.0]},
    "resampled": lambda w: {"step_m": 5.0},
    "shifted": lambda w: {"station_m": 5.0},
    "stations": lambda w: {"step_m": 5.0},
}
_ON_MOTION: dict[str, Callable[[Small], dict[str, Any]]] = {
    "at": lambda w: {"time_s": [30.0]},
    "position_sd_m": lambda w: {"time_s": [30.0], "direction": np.array([[1.0, 0.0]])},
    "posterior": lambda w: {"time_s": [30.0], "weights": np.eye(1, 6)},
    "sds": lambda w: {"time_s": [30.0], "weights": np.eye(1, 6)},
    "with_rows": lambda w: {"rows": _rows()},
}
_DEGREES = {"lat_deg": [-42.95], "lon_deg": [12.0]}
_METRES = {"east_m": [1.0], "north_m": [2.0]}


def _achievable() -> lw.Achievable:
    """Made up: three laps are too few for one."""
    along = pd.DataFrame({
        "station_m": [0.0, 50.0, 100.0], "usual_mps": 20.0, "best_mps": 20.5, "allowed_mps": 21.0,
        "allowed_low95_mps": 20.0, "allowed_high95_mps": 22.0,
    })  # fmt: skip
    return lw.Achievable(
        (1, 2, 3), 90.0, 0.2, 89.6, 90.4, 91.0, 0.1, 1.0, 0.2, 0.6, 1.4, 2, 90.6, 0.3, 45.0, along,
        pd.DataFrame(),
    )  # fmt: skip


def _alignment() -> lw.Alignment:
    return lw.Alignment(30.0, 0.5, 0.01, 1.0, 1e-6, 1.0, 60.0, 1.0, 0.5, 1.0)


def _traces(w: Small) -> list[Any]:
    return [w.session.trace(1), w.session.trace(2)]


# Valid arguments of every public call that takes any, `self` with them.
VALID: dict[str, Callable[[Small], dict[str, Any]]] = {
    **{
        f"Session.{k}": (lambda w, f=f: {"self": w.session, **f(w)})
        for k, f in _ON_SESSION.items()
    },
    **{f"Track.{k}": (lambda w, f=f: {"self": w.track, **f(w)}) for k, f in _ON_TRACK.items()},
    **{
        f"ReferencePath.{k}": (lambda w, f=f: {"self": w.track.path, **f(w)})
        for k, f in _ON_PATH.items()
    },
    **{
        f"Motion.{k}": (lambda w, f=f: {"self": w.session.motion, **f(w)})
        for k, f in _ON_MOTION.items()
    },
    "Alignment.other_time": lambda w: {"self": _alignment(), "time_s": [1.0]},
    "Alignment.own_time": lambda w: {"self": _alignment(), "other_s": [1.0]},
    "Alignment.sd_at": lambda w: {"self": _alignment(), "time_s": [1.0]},
    "Gate.across": lambda w: {"centre_m": (0.0, 0.0), "heading_rad": 0.0, "width_m": 9.0},
    "Gate.offset": lambda w: {"self": w.track.start_finish, **_METRES},
    "Gate.signed_distance": lambda w: {"self": w.track.start_finish, **_METRES},
    "Gate.widened": lambda w: {"self": w.track.start_finish, "by_m": 2.0},
    "Log.with_findings": lambda w: {"self": w.log},
    "Plane.centred_on": lambda w: dict(_DEGREES),
    "Plane.point_deg": lambda w: {"self": w.track.plane, "east_north_m": (1.0, 2.0)},
    "Plane.point_m": lambda w: {"self": w.track.plane, "lat_lon_deg": (-42.95, 12.0)},
    "Plane.to_degrees": lambda w: {"self": w.track.plane, **_METRES},
    "Plane.to_metres": lambda w: {"self": w.track.plane, **_DEGREES},
    "Units.distance_of": lambda w: {"self": lw.Units(), "distance_m": 1.0},
    "Units.parse": lambda w: {"text": "mph,ft"},
    "Units.speed_of": lambda w: {"self": lw.Units(), "speed_mps": 1.0},
    "WorthTryingInWords.from_mapping": lambda w: {
        "mapping": {"corner": 1, "code": "minimum_speed"}
    },
    "advice_in_words": lambda w: {"session": w.session},
    "align_logs": lambda w: {"log": w.log, "other": w.log},
    "before_after": lambda w: {"before": w.session, "after": w.session},
    "captions.caption_table": lambda w: {
        "session": w.session, "video_start_s": 5.0, "every_s": 9.0,
    },
    "captions.video_start_at_line": lambda w: {"session": w.session, "video_time": "0:12.5"},
    "captions.video_start_at_time": lambda w: {"log": w.log, "time_stamp": "5"},
    "captions.write_captions": lambda w: {
        "session": w.session, "path": w.out("c.srt"), "video_start_s": 5.0, "every_s": 9.0,
    },
    "car_warning_text": lambda w: {
        "warning": lw.CarWarning("limit", "oil", "high", "degC", laps=(1,), corner=1),
        "track": w.track,
    },
    "change_text": lambda w: {
        "what": "rear bar", "change": Difference(1.0, 1.1, 0.1, -0.1, 0.3, 4, 4),
    },
    "complete_track": lambda w: {"track": w.track, "log": w.log},
    "discover_track": lambda w: {"log": w.log},
    "find_known_track": lambda w: {"log": w.log, "folder": w.folder / "logs"},
    "first_lap": lambda w: {"session": w.session},
    "follow_up_text": lambda w: {
        "one": lw.what_came_of_it(w.session, w.session, [_item()])[0], "track": w.track,
    },
    "init_notes": lambda w: {"folder": w.folder / "logs"},
    "live": lambda w: {
        "source": w.log.path, "replay": 0.0, "track": w.track, "cache": None,
    },
    "lap_time_change": lambda w: {"before": w.session, "after": w.session},
    "open_session": lambda w: {
        "path": w.log.path, "track": w.track, "repeat_line": False, "cache": None,
    },
    "plots.achievable": lambda w: {"found": _achievable()},
    "plots.channel": lambda w: {
        "channels": w.session.channels, "role": "throttle", "traces": _traces(w),
    },
    "plots.corner_speeds": lambda w: {"traces": _traces(w), "corners": w.session.corners},
    "plots.delta": lambda w: {"comparison": w.comparison},
    "plots.grip": lambda w: {"traces": _traces(w)},
    "plots.lap_times": lambda w: {"laps": w.session.laps},
    "plots.ledger": lambda w: {"comparison": w.comparison},
    "plots.lines": lambda w: {
        "traces": _traces(w), "corners": w.session.corners, "corner": 1,
    },
    "plots.speed": lambda w: {"traces": _traces(w)},
    "plots.speed_map": lambda w: {"trace": w.session.trace(1)},
    "plots.time_lost_map": lambda w: {"comparison": w.comparison},
    "plots.track_preview": lambda w: {"track": w.track},
    "race_in_words": lambda w: {"session": w.session},
    "read_limits": lambda w: {"path": w.limits},
    "read_log": lambda w: {"path": w.log.path},
    "read_notes": lambda w: {"path": w.notes},
    "read_track": lambda w: {"path": w.track_file},
    "report.write_html": lambda w: {"session": w.session, "path": w.out("r.html")},
    "report.write_pdf": lambda w: {"session": w.session, "path": w.out("r.pdf")},
    "report.write_tables": lambda w: {"session": w.session, "folder": w.out("tables")},
    "run_weekend": lambda w: {
        "folder": w.folder / "logs", "out": w.folder / "results", "repeat_line": False,
        "workers": 1, "cache": None,
    },
    "save_to_library": lambda w: {"track": w.track, "folder": w.out("library")},
    "session_before": lambda w: {"session": w.session},
    "show": lambda w: {"result": w.comparison},
    "start_line_at_time": lambda w: {"log": w.log, "time": 200.0},
    "what_came_of_it": lambda w: {
        "previous": w.session, "session": w.session, "items": [_item()],
    },
    "with_channels_of": lambda w: {"log": w.log, "other": w.log, "alignment": _alignment()},
    "write_log": lambda w: {"log": w.log, "path": w.out("log.csv")},
    "write_track": lambda w: {"track": w.track, "path": w.out("t.geojson")},
    "write_weekend_report": lambda w: {"weekend": w.weekend, "html": w.out("w.html")},
}  # fmt: skip
