"""`lapwright corners LOG`: corner by corner, speeds, braking and time through."""

from pathlib import Path
from typing import Any

import click
import numpy as np
import pandas as pd

from lapwright.cli.opening import open_aloud
from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.lap_text import closing_lines, header_lines
from lapwright.cli.printing.objects import corner_objects, driver_objects, pass_objects
from lapwright.cli.printing.progress import CORNERS, TIMING
from lapwright.cli.printing.table import rows_of, table
from lapwright.cli.printing.terminal import write_out
from lapwright.cli.printing.worth_text import worth_lines, worth_objects
from lapwright.session import Session
from lapwright.units import NOTHING, Units, clock, error_bar, number
from lapwright.wording.coaching.worth_trying import advice_in_words
from lapwright.wording.heads import NO_LIFT, SCREEN, heads


@click.command("corners")
@log_argument
@track_options
def command(log: Path, **options: Any) -> None:
    """Show how LOG takes each corner: speeds, braking and time through."""
    choice = choice_of(options)
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    session = open_aloud(log, choice)
    with choice.progress.step(TIMING):
        _ = session.laps
    with choice.progress.step(CORNERS):
        advice = advice_in_words(session, units)
    if choice.as_json:
        write_json(
            corners=corner_objects(session),
            passes=pass_objects(session),
            worth_trying=worth_objects(advice),
            **driver_objects(session),
        )
        return
    lines = [*header_lines(session, units), "", *corner_lines(session, units), ""]
    lines += [*worth_lines(advice, passes=len(session.passes) > 0), "", *closing_lines()]
    write_out("\n".join(lines))


def corner_lines(session: Session, units: Units) -> list[str]:
    """
    Write the corners with what is usual in the clean laps, and what the best lap did.

    Parameters
    ----------
    session : Session
    units : Units

    Returns
    -------
    list of str
    """
    corners, passes = session.corners, session.passes
    if corners.empty:
        return ["This circuit has no corners."]
    clean = session.laps.loc[session.laps["representative"], "lap"]
    usual = passes[passes["lap"].isin(clean)] if len(clean) else passes
    rows = [
        _row(corner, usual[usual["corner"] == corner["corner"]], passes, session.best_lap, units)
        for corner in rows_of(corners)
    ]
    laps = "1 clean lap" if len(clean) == 1 else f"{len(clean)} clean laps"
    of = laps if len(clean) else "all timed laps, as none is clean"
    distance = units.distance
    slowest, brake, time = heads(SCREEN, "passes", units)
    over_laps = ["spread", "best"]
    head = [*heads(SCREEN, "corners", units), slowest, *over_laps, brake, time, *over_laps]
    said = [f"{NO_LIFT}: the car did not slow for the corner"]
    return [
        table(head, rows, left=[0, 1]),
        "",
        f"min, time: median of {of}",
        *(said if any(NO_LIFT in row for row in rows) else []),
        "spread: standard deviation (sd) from lap to lap; best: the best lap",
        f"L, R: left, right; radius in {distance}",
        f"brake: {distance} from the braking point to the corner's entry; below 0: past the entry",
        "time: from corner entry to corner exit",
    ]


def _row(
    corner: dict[str, Any], usual: pd.DataFrame, passes: pd.DataFrame, best: int | None,
    units: Units,
) -> list[str]:  # fmt: skip
    mine = passes[(passes["corner"] == corner["corner"]) & (passes["lap"] == best)]
    slowest = usual["min_speed_mps"].dropna().to_numpy(dtype=np.float64)
    most_flat, best_flat = (bool(rows["flat"].mean() > 0.5) for rows in (usual, mine))
    times = usual["time_s"].to_numpy(dtype=np.float64)
    braked = usual["brake_station_m"].dropna().to_numpy(dtype=np.float64)
    speed_sd, time_sd = _spread(slowest), _spread(times)
    shown_sd = units.speed_of(speed_sd)
    name = "" if corner["name"] == str(corner["corner"]) else str(corner["name"])
    return [
        f"{corner['corner']:>2} {name}".rstrip(),
        str(corner["direction"])[0].upper(),
        number(units.distance_of(corner["radius_m"]), most=0),
        NO_LIFT if most_flat else number(units.speed_of(_middle(slowest)), shown_sd),
        error_bar(shown_sd, most=1),
        NO_LIFT if best_flat else number(units.speed_of(_only(mine, "min_speed_mps")), most=1),
        _braking(braked, usual, corner["entry_m"], units),
        clock(_middle(times), time_sd, most=2),
        error_bar(time_sd, most=2),
        clock(_only(mine, "time_s"), most=2),
    ]


def _braking(
    braked: "np.ndarray[Any, np.dtype[np.float64]]", usual: pd.DataFrame, entry_m: float,
    units: Units,
) -> str:  # fmt: skip
    """Distance from the usual braking point to the corner; most laps without braking are said."""
    if usual.empty:
        return ""
    # Who slows only for the next corner has no braking for this one, and may yet brake in it.
    known = usual["flat"] | usual["min_speed_mps"].notna()
    if 2 * int(known.sum()) < len(usual):
        return NOTHING
    if 2 * len(braked) < int(known.sum()):
        return "no"
    return number(units.distance_of(entry_m - float(np.median(braked))), most=0)


def _middle(values: "np.ndarray[Any, np.dtype[np.float64]]") -> float:
    return float(np.median(values)) if len(values) else float("nan")


def _spread(values: "np.ndarray[Any, np.dtype[np.float64]]") -> float:
    return float(values.std(ddof=1)) if len(values) > 1 else float("nan")


def _only(rows: pd.DataFrame, column: str) -> float:
    return float(rows[column].iloc[0]) if len(rows) else float("nan")
