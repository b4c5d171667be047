"""Every table of a session as files, for whoever wants to go on with the numbers."""

import importlib.util
from pathlib import Path
from typing import Any

import pandas as pd

from lapwright.arguments import checked
from lapwright.columns import arranged, names, numbered
from lapwright.columns.advice import FINDINGS, WORTH_TRYING
from lapwright.columns.corners import PASSES
from lapwright.columns.tables import TABLES
from lapwright.escaping.spreadsheet import csv_text, storable
from lapwright.ingest.log import lines_in_file
from lapwright.outputs import check_targets, whole_file
from lapwright.report.report_data import ReportData, gather
from lapwright.session import Session
from lapwright.units import Units


@checked
def write_tables(session: Session, folder: str | Path, units: Units | str = "km/h") -> list[Path]:
    """
    Write every table as CSV, and as Parquet where pyarrow is installed.

    Parameters
    ----------
    session : Session
    folder : str or Path
        Made where missing; each file in it is written whole or not at all.
    units : Units or str
        Of the sentences on what is worth trying; every number is in SI units all the same.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    OutputError
        If one cannot be written, or is the log itself.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     files = lw.report.write_tables(session, folder)
    >>> {"laps.csv", "passes.csv"} <= {file.name for file in files}
    True
    """
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    parquet = importlib.util.find_spec("pyarrow") is not None
    out = []
    named = tables(gather(session, units=units))
    check_targets([target / f"{name}.csv" for name in named], [session.log.path])
    for name, table in named.items():
        path = target / f"{name}.csv"
        with whole_file(path) as part:
            part.write_bytes(csv_text(table).encode())
        out.append(path)
        if parquet:
            path = target / f"{name}.parquet"
            with whole_file(path) as part:
                storable(table).to_parquet(part, engine="pyarrow", index=False)
            out.append(path)
    return out


def tables(material: ReportData) -> dict[str, pd.DataFrame]:
    """
    Lay out the tables of a session with one value a cell.

    Parameters
    ----------
    material : ReportData

    Returns
    -------
    dict of DataFrame
        ``laps``, ``corners``, ``passes``, ``variation``, ``worth_trying``, ``findings``; ``delta``,
        ``ledger`` and ``causes`` of the usual lap against the best where there are both;
        ``driver``, ``driver_laps`` and ``coasting`` where the log has the driver's channels;
        ``car`` and ``car_warnings`` where it has sensors of the car.
        SI units.
    """
    out = {
        "laps": flat_laps(material.laps),
        "corners": material.corners,
        "passes": passes_with_grip(material),
        "variation": material.variation,
        "worth_trying": _worth_trying(material),
        "findings": _findings(material),
    }
    if material.channels:
        out |= {
            "driver": material.driver, "driver_laps": material.driver_laps,
            "coasting": material.coasting,
        }  # fmt: skip
    if len(material.car):
        laps = material.car_warnings["laps"].map(lambda laps: " ".join(map(str, laps)))
        out |= {"car": material.car, "car_warnings": material.car_warnings.assign(laps=laps)}
    c = material.comparison
    if c is not None:
        for name, table in (("delta", c.delta), ("ledger", c.ledger), ("causes", c.causes)):
            out[name] = pd.concat(
                [
                    pd.DataFrame({"lap": c.lap, "reference": c.reference}, index=table.index),
                    table,
                ],
                axis=1,
            )
    sectors = len(material.track.sectors) + 1
    return {
        name: arranged(table, numbered(TABLES[name], sectors), "files")
        for name, table in out.items()
    }


def flat_laps(laps: pd.DataFrame) -> pd.DataFrame:
    """Lap table with flags as one text and a column a sector."""
    columns: dict[str, Any] = {"flags": laps["flags"].map(" ".join)}
    for name in ("sectors_s", "sector_sds_s"):
        cells = list(laps[name])
        for k in range(len(cells[0]) if cells else 0):
            word = "time" if name == "sectors_s" else "time_sd"
            columns[f"sector_{k + 1}_{word}_s"] = [cell[k] for cell in cells]
    return laps.drop(columns=["sectors_s", "sector_sds_s"]).assign(**columns)


def passes_with_grip(material: ReportData) -> pd.DataFrame:
    """Passes with the share of the driver's own grip used; empty where a lap was not clean."""
    grip = [name for name in names(PASSES, "files") if name.startswith("grip_")]
    used = material.grip.passes[["lap", "corner", *grip]].astype(float)
    return material.passes.merge(
        used.astype({"lap": int, "corner": int}), on=["lap", "corner"], how="left",
        validate="one_to_one",
    )  # fmt: skip


def _worth_trying(material: ReportData) -> pd.DataFrame:
    keys = names(WORTH_TRYING, "files")
    rows = [[getattr(item, name) for name in keys] for item in material.worth_trying]
    return pd.DataFrame(rows, columns=keys)


def _findings(material: ReportData) -> pd.DataFrame:
    keys = names(FINDINGS, "files")
    rows = [
        {key: getattr(one, key) for key in keys} | {"lines": lines_in_file(one.lines)}
        for one in material.log.findings
    ]
    return pd.DataFrame(rows, columns=keys)
