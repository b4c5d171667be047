"""What commands say about a log, its circuit and its laps, as objects for JSON."""

from dataclasses import replace
from typing import Any

import pandas as pd

from lapwright.cli.table import rows_of
from lapwright.geometry import Track
from lapwright.ingest import Log
from lapwright.session import Session

_CORNER = [
    "corner", "name", "direction", "entry_m", "apex_m", "exit_m", "radius_m", "apex_lat_deg",
    "apex_lon_deg",
]  # fmt: skip
_PASS = [
    "lap", "corner", "entry_speed_mps", "min_speed_mps", "min_speed_sd_mps",
    "min_speed_station_m", "min_speed_lat_deg", "min_speed_lon_deg", "exit_speed_mps",
    "lift_station_m", "brake_station_m", "brake_sd_m", "brake_lat_deg", "brake_lon_deg",
    "brake_source", "throttle_station_m", "time_s", "time_sd_s", "apex_offset_m",
]  # fmt: skip
_LEDGER = ["corner", "stretch", "start_m", "end_m", "difference_s", "difference_sd_s"]


def log_object(log: Log) -> dict[str, Any]:
    """Return what a log is and what was odd about it."""
    return {
        "path": str(log.path),
        "reader": log.reader,
        "fixes": len(log.fixes),
        "rate_hz": log.rate_hz,
        "start_utc": log.start_utc,
        "first_fix_s": log.first_fix_s,
        "time_scale": log.time_scale,
        "duration_s": log.duration_s,
        "findings": [
            {
                "code": one.code,
                "message": one.message,
                "lines": [list(pair) for pair in one.lines],
                "count": one.count,
            }
            for one in log.findings
        ],
    }


def track_object(track: Track) -> dict[str, Any]:
    """Return what a circuit is; points are [latitude, longitude]."""
    return {
        "name": track.name,
        "length_m": track.length_m,
        "length_sd_m": track.length_sd_m,
        "source": track.source,
        "corners": len(track.corners),
        "start_finish": [list(point) for point in track.start_finish_deg],
    }


def lap_objects(session: Session) -> list[dict[str, Any]]:
    """Return the laps, one object each."""
    zero = session.log.start_utc
    out = []
    for row in rows_of(session.laps):
        start_utc = None if zero is None else zero + pd.Timedelta(row["start_s"], unit="s")
        low_high = [row["time_low95_s"], row["time_high95_s"]]
        out.append(
            {
                **{name: row[name] for name in ("lap", "kind", "complete", "flags")},
                "representative": row["representative"],
                "start_utc": start_utc,
                **{name: row[name] for name in ("start_s", "time_s", "time_sd_s")},
                "time_ci95_s": low_high if pd.notna(row["time_s"]) else None,
                "time_from_launch_s": row["time_from_launch_s"],
                **{name: row[name] for name in ("sectors_s", "sector_sds_s")},
                **{name: row[name] for name in ("top_speed_mps", "top_speed_station_m")},
            }
        )
    return out


def session_object(session: Session) -> dict[str, Any]:
    """Return log, circuit, noise and laps of a session: the object of ``laps``."""
    laps = lap_objects(session)
    best = session.theoretical_best
    return {
        "log": log_object(replace(session.log, findings=session.findings)),
        "track": track_object(session.track),
        "noise": session.noise,
        "laps": laps,
        "best_lap": session.best_lap,
        "theoretical_best_s": None if best is None else best[0],
        "theoretical_best_sd_s": None if best is None else best[1],
    }


def corner_objects(session: Session) -> list[dict[str, Any]]:
    """Return the corners, one object each."""
    return _records(session.corners, _CORNER)


def pass_objects(session: Session) -> list[dict[str, Any]]:
    """Return every lap's way through every corner, one object each."""
    return _records(session.passes, _PASS)


def ledger_objects(ledger: pd.DataFrame) -> list[dict[str, Any]]:
    """Return where the time goes, one object a stretch."""
    return _records(ledger, _LEDGER)


def _records(table: pd.DataFrame, names: list[str]) -> list[dict[str, Any]]:
    """Rows as objects, with these columns in this order; none for a table without rows."""
    return [] if table.empty else rows_of(table[names])
