"""Laps as a table for people, and what they come to in a few lines."""

import math
from typing import Any

import numpy as np

from lapwright.cli.printing.table import rows_of, table
from lapwright.notes.time_zone import time_zone_for
from lapwright.session import Session
from lapwright.units import Units, clock, error_bar, is_equal, number, signed
from lapwright.wording.cautions import NOT_OFFICIAL
from lapwright.wording.event.race import start_lines, stop_texts
from lapwright.wording.flags import KIND_WORDS, flag_list
from lapwright.wording.heads import CLEAN, SCREEN, heads
from lapwright.wording.terms import PLUS_MINUS, UNNAMED
from lapwright.wording.time_of_day import utc_and_local

_EQUAL = "equal"


def lap_lines(session: Session, units: Units) -> list[str]:
    """
    Write the laps of a session.

    Parameters
    ----------
    session : Session
    units : Units

    Returns
    -------
    list of str
        The table, then what is to be known to read it.
    """
    laps, best = session.laps, session.best_lap
    gaps = session.gaps.itertuples(index=False, name=None)
    sectors = len(session.track.sectors) + 1
    rows = [
        _row(row, gap, row["lap"] == best, units)
        for row, gap in zip(rows_of(laps), gaps, strict=True)
    ]
    head = heads(SCREEN, "laps", units, sectors)
    lines = [table(head, rows, left=[1, len(head) - 1])]
    legend = []
    if any(row[1] == CLEAN for row in rows):
        legend.append(f"{CLEAN}: clean lap; best, median, spread and best sectors are of these")
    if any(row[4] == _EQUAL for row in rows):
        legend.append("equal: too close to the best lap for this log to separate them")
    return [*lines, *([""] if legend else []), *legend]


def _row(row: dict[str, Any], gap: tuple[float, float], is_best: bool, units: Units) -> list[str]:
    time, sd = float(row["time_s"]), float(row["time_sd_s"])
    timed = row["kind"] == "timed" and math.isfinite(time)
    known = zip(row["sectors_s"], row["sector_sds_s"], strict=True)
    sectors = [clock(t, s, most=2) if timed and math.isfinite(t) else "" for t, s in known]
    return [
        str(row["lap"]),
        CLEAN if row["representative"] else "",
        clock(time, sd) if timed else "",
        error_bar(sd) if timed else "",
        _gap_text(*gap, is_best=is_best) if timed else "",
        *sectors,
        number(units.speed_of(float(row["top_speed_mps"])), most=0),
        remarks(row),
    ]


def _gap_text(gap_s: float, sd_s: float, *, is_best: bool) -> str:
    if is_best:
        return "best"
    if not math.isfinite(gap_s):
        return ""
    return _EQUAL if is_equal(gap_s, sd_s) else signed(gap_s, sd_s, most=2)


def remarks(row: dict[str, Any]) -> str:
    """Say what kind of lap it was, where it was not just a lap."""
    flags = row["flags"]
    assert isinstance(flags, tuple)
    kind = "" if row["kind"] == "timed" else KIND_WORDS[str(row["kind"])]
    return ", ".join(word for word in (kind, flag_list(flags)) if word)


def summary_lines(session: Session, units: Units) -> list[str]:
    """Say in a few lines what the laps come to."""
    laps, best = session.laps, session.best_lap
    if best is None:
        timed = bool((laps["kind"] == "timed").any())
        why = "No lap counts as clean" if timed else "No full lap was driven"
        return [f"{why}, so there is no best lap.", *race_lines(session)]
    row = session.row(best)
    lines = [f"Best: lap {best}, {clock(row['time_s'], row['time_sd_s'])} {_pm(row['time_sd_s'])}"]
    clean = laps[laps["representative"]]
    if len(clean) >= 2:
        times = clean["time_s"].to_numpy(dtype=np.float64)
        lines.append(
            f"Clean laps: {len(clean)}, median {clock(float(np.median(times)), most=2)}, "
            f"spread (sd) {error_bar(float(times.std(ddof=1)), most=2)} s"
        )
    theoretical = session.theoretical_best
    if theoretical is not None and len(clean) >= 2 and session.track.sectors:
        lines.append(
            f"Best sectors added up: {clock(*theoretical)} {_pm(theoretical[1])}; "
            "nobody drove that lap"
        )
    if laps["top_speed_mps"].notna().any():
        top = laps.iloc[int(np.nanargmax(laps["top_speed_mps"].to_numpy(dtype=np.float64)))]
        speed = number(units.speed_of(top["top_speed_mps"]), most=0)
        place = number(units.distance_of(top["top_speed_station_m"]), most=0)
        lines.append(
            f"Top speed: {speed} {units.speed} on lap {top['lap']}, "
            f"{place} {units.distance} after the start line"
        )
    return [*lines, *race_lines(session)]


def race_lines(session: Session) -> list[str]:
    """Say in a line each how the car got away, and how long it was in the pits."""
    return [*start_lines(session), *(text.removesuffix(".") for text in stop_texts(session))]


def header_lines(session: Session, units: Units) -> list[str]:
    """Say which log it is and on which circuit."""
    log, track = session.log, session.track
    length = f"{number(units.distance_of(track.length_m), most=0)} {units.distance}"
    zone = time_zone_for(log.path, track.other_members)
    when = "no date" if log.start_utc is None else utc_and_local(log.start_utc, zone)
    name = track.name or UNNAMED
    found = {"file": "track file", "library": "track library", "discovered": "found in the log"}
    return [
        f"{log.path.name}: {when}, {clock(log.duration_s, most=0)}, {log.rate_hz:.3g} Hz",
        f"{name}: {length}, {len(track.corners)} corners ({found[track.source]})",
    ]


def closing_lines() -> list[str]:
    """Say what ± means and what this is not."""
    return [PLUS_MINUS, NOT_OFFICIAL]


def _pm(sd_s: float) -> str:
    return f"\N{PLUS-MINUS SIGN} {error_bar(sd_s)} s"
