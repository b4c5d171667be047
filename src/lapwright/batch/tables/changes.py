"""What came of the changes that the notes of a folder name: from its results to a table."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.batch.tables.details import Named, heads
from lapwright.batch.worker import Result
from lapwright.coaching.car_change.noted_changes import Driven, NotedChange, noted_changes
from lapwright.coaching.car_change.session_laps import from_table
from lapwright.columns import arranged, empty
from lapwright.columns.weekend import CHANGES
from lapwright.notes.weekend_notes import LogNotes

# In the table, where a row is about the whole lap.
WHOLE_LAP = 0


def changes_in(
    results: Mapping[Path, Result], notes: Mapping[Path, LogNotes], named: Named | None = None
) -> tuple[tuple[NotedChange, ...], tuple[tuple[str, str], ...]]:
    """
    Follow the changes over a folder.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of Path to LogNotes
        In the order of the notes.
    named : mapping, optional
        See `lapwright.batch.folder.names_in`.

    Returns
    -------
    changes : tuple of NotedChange
    unclear : tuple of (str, str)
        Session and entry that takes off a change that is not on the car.
    """
    head = heads(results, notes, named)
    order = {path: k for k, path in enumerate(notes)}
    paths = [path for path, result in results.items() if result.status == "ok" and result.laps]
    paths.sort(key=lambda path: order.get(path, len(order)))
    return noted_changes([
        _driven(str(head[path]["session"]), results[path], notes.get(path, LogNotes()))
        for path in paths
    ])  # fmt: skip


def _driven(name: str, result: Result, notes: LogNotes) -> Driven:
    corners = None
    if result.corner_s:
        corners = pd.DataFrame(result.corner_s).set_index("lap").astype(np.float64)
        corners.columns = corners.columns.astype(int)
    laps = pd.DataFrame(result.laps)
    laps = laps.assign(
        time_s=laps["time_s"].astype(np.float64), start_utc=result.start_utc,
        representative=laps["representative"].astype(bool), conditions=notes.conditions,
    )  # fmt: skip
    return Driven(from_table(laps, name, corners), notes, result.track)


def change_table(changes: tuple[NotedChange, ...]) -> pd.DataFrame:
    """
    One row for each change and driver, and one for each corner of it.

    Parameters
    ----------
    changes : tuple of NotedChange

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.CHANGES`; a change without a result has no row.
    """
    rows = []
    for one in changes:
        if one.result is None:
            continue
        result = one.result
        head = {
            "session": one.session, "driver": one.driver, "changes": "; ".join(one.entries),
            "sessions_before": result.sessions_before, "sessions_after": result.sessions_after,
            "laps_before": result.laps_before, "laps_after": result.laps_after,
        }  # fmt: skip
        rows.append({
            **head, "corner": WHOLE_LAP, "change_s": result.change_s, "change_sd_s": result.sd_s,
            "change_low95_s": result.low95_s, "change_high95_s": result.high95_s,
        })  # fmt: skip
        rows += [
            {**head, "corner": c.corner, "change_s": c.change_s, "change_sd_s": c.sd_s,
             "change_low95_s": c.low95_s, "change_high95_s": c.high95_s}
            for c in result.corners
        ]  # fmt: skip
    return arranged(pd.DataFrame(rows), CHANGES) if rows else empty(CHANGES)
