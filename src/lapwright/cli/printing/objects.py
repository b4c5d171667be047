"""What commands say about a log, its circuit and its laps, as objects for JSON."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from datetime import datetime
from pathlib import Path
from typing import Any

import pandas as pd

from lapwright.achievable import Achievable
from lapwright.car.watch import warning_table
from lapwright.cli.printing.table import rows_of
from lapwright.columns import Column, names
from lapwright.columns.achievable import ACHIEVABLE
from lapwright.columns.advice import FINDINGS
from lapwright.columns.car import CAR, CAR_WARNINGS
from lapwright.columns.corners import CORNERS, PASSES
from lapwright.columns.driver import COASTING, DRIVER, DRIVER_LAPS
from lapwright.columns.laps import CAUSES, DELTA, LAPS, LEDGER
from lapwright.columns.race import CAR_GAPS, HELD_UP, LAUNCHES, PIT_STOPS, STINTS
from lapwright.columns.variation import VARIATION
from lapwright.corners.why import sd_name
from lapwright.geometry import Track
from lapwright.ingest import Finding, Log
from lapwright.notes.time_zone import time_zone_for
from lapwright.session import FirstLap, Session
from lapwright.units import Units
from lapwright.wording.car import car_warning_text
from lapwright.wording.heads import BESIDE


def log_object(log: Log, members: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Return what a log is and what was odd about it; members are those of its track file."""
    start = log.start_utc
    zone = (
        None if start is None else time_zone_for(log.path, members).name_at(_to_the_second(start))
    )
    return {
        "path": str(log.path),
        "reader": log.reader,
        "fixes": len(log.fixes),
        "rate_hz": log.rate_hz,
        "start_utc": start,
        "time_zone": zone,
        "first_fix_s": log.first_fix_s,
        "time_scale": log.time_scale,
        "duration_s": log.duration_s,
        "findings": [_finding_object(one) for one in log.findings],
    }


def _to_the_second(moment: pd.Timestamp) -> datetime:
    return moment.floor("s").to_pydatetime()


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
        "log": log_object(
            replace(session.log, findings=session.findings), session.shared_track.other_members
        ),
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


def driver_objects(session: Session) -> dict[str, list[dict[str, Any]]]:
    """Return what the driver did, a list a table; empty lists where the log has no channels."""
    return {
        "driver": _records(session.driver, DRIVER),
        "driver_laps": _records(session.driver_laps, DRIVER_LAPS),
        "coasting": _records(session.coasting, COASTING),
    }


def variation_objects(session: Session) -> list[dict[str, Any]]:
    """Return how much each corner varies from lap to lap, one object a corner."""
    return _records(session.variation, VARIATION)


def achievable_object(found: Achievable | None, said: Sequence[str]) -> dict[str, Any] | None:
    """Return what the driver's own laps add up to; None where there is nothing to say."""
    if found is None:
        return None
    return {
        "laps": list(found.laps),
        "time_s": found.time_s,
        "time_sd_s": found.time_sd_s,
        "time_ci95_s": [found.time_low95_s, found.time_high95_s],
        "usual_s": found.usual_s,
        "usual_sd_s": found.usual_sd_s,
        "best_lap": found.best_lap,
        "best_s": found.best_s,
        "gap_s": found.gap_s,
        "gap_sd_s": found.gap_sd_s,
        "gap_ci95_s": [found.gap_low95_s, found.gap_high95_s],
        "only_scatter": found.only_scatter,
        "beyond": found.beyond,
        "corners": _records(found.corners, ACHIEVABLE),
        "text": list(said),
    }


def car_objects(session: Session, units: Units) -> dict[str, list[Any]]:
    """Return what the car's sensors said, and what of it deserves a look; empty without sensors."""
    warnings = session.car_warnings
    rows = _records(warning_table(warnings), CAR_WARNINGS)
    said = [car_warning_text(one, session.track, units) for one in warnings]
    return {
        "car": _records(session.car, CAR),
        "car_warnings": [row | {"text": text} for row, text in zip(rows, said, strict=True)],
        "limits_not_checked": list(session.limits_not_held),
    }


def race_object(
    session: Session, first: FirstLap | None, against: Path | None, gaps: pd.DataFrame | None
) -> dict[str, Any]:
    """Return what a race was made of: the object of ``race``."""
    return {
        "launches": _records(session.launches, LAUNCHES),
        "first_lap": None if first is None else _first_lap_object(first),
        "stints": _records(session.stints, STINTS),
        "pit_stops": _records(session.pit_stops, PIT_STOPS),
        "held_up": _records(session.held_up, HELD_UP),
        "against": None if against is None else str(against),
        "gaps": [] if gaps is None else _records(gaps, CAR_GAPS),
    }


def _first_lap_object(first: FirstLap) -> dict[str, Any]:
    c = first.comparison
    return {
        "lap": c.lap,
        "reference": c.reference,
        "typical": first.typical,
        "time_difference_s": c.time_difference_s,
        "time_difference_sd_s": c.time_difference_sd_s,
        "corners": [asdict(one) for one in first.corners],
    }


def ledger_objects(ledger: pd.DataFrame) -> list[dict[str, Any]]:
    """Return where the time goes, one object a stretch."""
    return _records(ledger, LEDGER)


def cause_objects(causes: pd.DataFrame) -> list[dict[str, Any]]:
    """Return what cost the time, one object a corner and cause."""
    return _records(causes, CAUSES)


def beside_objects(passes: pd.DataFrame) -> list[dict[str, Any]]:
    """Return two laps' runs through the corners side by side, one object a corner."""
    keys = ["corner", "name"]
    for name in ("time_s", *BESIDE):
        for column in (name, sd_name(name)):
            keys += [f"{lap}{column}" for lap in ("", "reference_", "difference_")]
    return [] if passes.empty else rows_of(passes[keys])


def delta_object(delta: pd.DataFrame) -> dict[str, Any]:
    """Return the delta, one list a column."""
    return {name: delta[name].to_numpy() for name in names(DELTA, "json")}


def _records(table: pd.DataFrame, columns: Sequence[Column]) -> list[dict[str, Any]]:
    """Rows as objects; none for a table without rows."""
    return [] if table.empty else rows_of(table[names(columns, "json")])
