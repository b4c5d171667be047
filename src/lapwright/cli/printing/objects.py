"""What commands say about a log, its circuit and its laps, as objects for JSON."""

from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import Any

import pandas as pd

from lapwright.cli.printing.table import rows_of
from lapwright.columns import Column, names
from lapwright.columns.advice import FINDINGS
from lapwright.columns.corners import CORNERS, PASSES
from lapwright.columns.laps import DELTA, LAPS, LEDGER
from lapwright.columns.variation import VARIATION
from lapwright.geometry import Track
from lapwright.ingest import Finding, Log
from lapwright.session import Session


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
        "findings": [_finding_object(one) for one in log.findings],
    }


def _finding_object(one: Finding) -> dict[str, Any]:
    row = {name: getattr(one, name) for name in names(FINDINGS, "json")}
    return row | {"lines": [list(pair) for pair in one.lines]}


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
        low_high = [row["time_low95_s"], row["time_high95_s"]]
        row["time_ci95_s"] = low_high if pd.notna(row["time_s"]) else None
        row["start_utc"] = None if zero is None else zero + pd.Timedelta(row["start_s"], unit="s")
        out.append({name: row[name] for name in names(LAPS, "json")})
    return out


def session_object(session: Session) -> dict[str, Any]:
    """Return log, circuit, noise and laps of a session: the object of ``laps``."""
    laps = lap_objects(session)
    best = session.theoretical_best
    return {
        "log": log_object(replace(session.log, findings=session.findings)),
        "track": track_object(session.track),
        # The last is ``repeat_line`` under its first name; goes with version 0.3.
        "noise": asdict(session.noise) | {"road": session.noise.repeat_line},
        "laps": laps,
        "best_lap": session.best_lap,
        "theoretical_best_s": None if best is None else best[0],
        "theoretical_best_sd_s": None if best is None else best[1],
    }


def corner_objects(session: Session) -> list[dict[str, Any]]:
    """Return the corners, one object each."""
    return _records(session.corners, CORNERS)


def pass_objects(session: Session) -> list[dict[str, Any]]:
    """Return every lap's way through every corner, one object each."""
    return _records(session.passes, PASSES)


def variation_objects(session: Session) -> list[dict[str, Any]]:
    """Return how much each corner varies from lap to lap, one object a corner."""
    return _records(session.variation, VARIATION)


def ledger_objects(ledger: pd.DataFrame) -> list[dict[str, Any]]:
    """Return where the time goes, one object a stretch."""
    return _records(ledger, LEDGER)


def delta_object(delta: pd.DataFrame) -> dict[str, Any]:
    """Return the delta, one list a column."""
    return {name: delta[name].to_numpy() for name in names(DELTA, "json")}


def _records(table: pd.DataFrame, columns: Sequence[Column]) -> list[dict[str, Any]]:
    """Rows as objects; none for a table without rows."""
    return [] if table.empty else rows_of(table[names(columns, "json")])
