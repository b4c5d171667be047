"""Cell of a weekend: one row per log."""

from typing import Any

import pandas as pd

from lapwright.batch.weekend import Weekend
from lapwright.notebook.cell import cell
from lapwright.plots.drawing.display_units import speed_in
from lapwright.report.numbers import NOTHING, clock_with_sd, plain
from lapwright.units import Units, clock
from lapwright.wording.event.folder import LEFT_OUT, NOT_USED, circuits, copies, noted
from lapwright.wording.heads import PAGE, described, heads


def weekend_cell(weekend: Weekend, units: Units) -> str:
    """
    Write what a notebook shows of a weekend.

    Parameters
    ----------
    weekend : Weekend
    units : Units

    Returns
    -------
    str
        One row per log that could be used; the others with the reason; what the notes say.
    """
    sessions = weekend.sessions.sort_values("start_utc", kind="stable", na_position="last")
    rows = [{str(k): v for k, v in row.items()} for row in sessions.to_dict("records")]
    good = [row for row in rows if row["status"] == "ok"]
    twice = [(weekend.below(copy), weekend.below(kept)) for copy, kept in weekend.copies]
    return cell(
        "weekend.html.jinja",
        circuits=circuits(sorted({row["track"] for row in good if row["track"]})),
        heads=heads(PAGE, "sessions", units),
        rows=[_row(row, units) for row in good],
        noted=[(row["session"], noted(row)) for row in good if noted(row)],
        said=(*weekend.notes, *weekend.refused, *copies(twice)),
        not_used=NOT_USED,
        failed=[row["reason"] for row in rows if row["status"] != "ok"],
        left_out=LEFT_OUT,
        left=", ".join(map(weekend.below, weekend.left_out)),
    )


def _row(row: dict[str, Any], units: Units) -> tuple[str, ...]:
    columns = described("sessions")
    top = float(speed_in(row["top_speed_mps"], units.speed))
    median = clock(row["median_s"], most=columns["median_s"].decimals)
    return (
        row["session"],
        row["driver"],
        str(row["laps"]),
        str(row["clean_laps"]),
        clock_with_sd(row["best_lap_s"], row["best_lap_sd_s"]),
        NOTHING if pd.isna(row["median_s"]) else median,
        plain(row["spread_s"], columns["spread_s"].decimals),
        plain(top, columns["top_speed_mps"].decimals),
    )
