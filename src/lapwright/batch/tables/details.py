"""The tables of a weekend that go into detail: sectors, runs through corners, what was odd."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from lapwright.batch.folder import names_in
from lapwright.batch.worker import Result
from lapwright.columns import Column, arranged, empty
from lapwright.columns.weekend import WEEKEND_FINDINGS, WEEKEND_PASSES, WEEKEND_SECTORS
from lapwright.notes.flat import flat
from lapwright.notes.weekend_notes import LogNotes

Named = Mapping[Path, tuple[str, str]]
_OF_LAP = ("lap", "representative")


def sector_table(
    results: Mapping[Path, Result], notes: Mapping[Path, LogNotes], named: Named | None = None
) -> pd.DataFrame:
    """
    One row a lap and sector that has a time.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of Path to LogNotes
    named : mapping, optional
        See `lapwright.batch.folder.names_in`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.WEEKEND_SECTORS`.
    """
    parts = {path: pd.DataFrame(_sectors(one.laps)) for path, one in results.items()}
    return _together(parts, WEEKEND_SECTORS, heads(results, notes, named))


def pass_table(
    results: Mapping[Path, Result], notes: Mapping[Path, LogNotes], named: Named | None = None
) -> pd.DataFrame:
    """
    One row a run through a corner; parameters as for `sector_table`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.WEEKEND_PASSES`.
    """
    parts = {path: one.passes for path, one in results.items() if one.passes is not None}
    return _together(parts, WEEKEND_PASSES, heads(results, notes, named))


def finding_table(results: Mapping[Path, Result], named: Named | None = None) -> pd.DataFrame:
    """
    One row a thing that was odd in a log; parameters as for `sector_table`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.WEEKEND_FINDINGS`.
    """
    parts = {path: pd.DataFrame(one.findings) for path, one in results.items()}
    return _together(parts, WEEKEND_FINDINGS, heads(results, {}, named))


def heads(
    results: Mapping[Path, Result], notes: Mapping[Path, LogNotes], named: Named | None = None
) -> dict[Path, dict[str, Any]]:
    """
    Return what every row of a log begins with: its names, its circuit, what is noted of it.

    Parameters
    ----------
    results, notes, named
        As for `sector_table`.
    """
    known = names_in(results, Path()) if named is None else named
    return {
        path: {"session": known[path][0], "log": known[path][1], "track": one.track}
        | flat(notes.get(path, LogNotes()))
        for path, one in results.items()
    }


def _together(
    parts: Mapping[Path, pd.DataFrame], columns: tuple[Column, ...], said: Mapping[Path, Any]
) -> pd.DataFrame:
    table = empty(columns, "weekend")
    filled = []
    for path, part in parts.items():
        if len(part):
            more = {k: v for k, v in said[path].items() if k in table and k not in part}
            filled.append(arranged(part.assign(**more), columns, "weekend"))
    if not filled:
        return table
    return pd.concat(filled, ignore_index=True).astype(table.dtypes.to_dict())


def _sectors(laps: list[dict[str, Any]]) -> list[dict[str, Any]]:
    rows = []
    for lap in laps:
        k = 1
        while f"sector_{k}_s" in lap:
            time, sd = lap[f"sector_{k}_s"], lap[f"sector_{k}_sd_s"]
            if time is not None:
                head = {name: lap[name] for name in _OF_LAP}
                rows.append(head | {"sector": k, "time_s": time, "time_sd_s": sd})
            k += 1
    return rows
