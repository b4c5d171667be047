"""The clean laps of one session, as a comparison of sessions takes them."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.errors import LapError

Floats = npt.NDArray[np.float64]

_NEEDED = ("time_s", "representative")


@dataclass(frozen=True, eq=False)
class SessionLaps:
    """
    Clean laps of one session.

    Attributes
    ----------
    name : str
    lap : ndarray, shape (n,)
        Laps since the session's first timed lap, ascending.
    time_s : ndarray, shape (n,)
    start_utc : Timestamp or None
    conditions : str
        As noted.
    corner_s : DataFrame or None
        Time through each corner's part of the lap, one row for each of the laps, one column a
        corner. [s]
    """

    name: str
    lap: Floats
    time_s: Floats
    start_utc: pd.Timestamp | None = None
    conditions: str = ""
    corner_s: pd.DataFrame | None = field(default=None, repr=False)

    def __len__(self) -> int:
        return len(self.time_s)


def from_table(
    table: pd.DataFrame, name: str = "", corner_s: pd.DataFrame | None = None
) -> SessionLaps:
    """
    Take the clean laps out of a lap table.

    Parameters
    ----------
    table : DataFrame
        ``time_s`` and ``representative``; ``lap``, ``kind``, ``start_utc`` and ``conditions``
        where it has them.
    name : str
    corner_s : DataFrame, optional
        Time through each corner's part of the lap, indexed by ``lap``.

    Returns
    -------
    SessionLaps

    Raises
    ------
    LapError
        If the table lacks a column that is needed.
    """
    missing = [column for column in _NEEDED if column not in table]
    if missing:
        msg = f"a lap table needs the column {missing[0]!r}, as in Session.laps"
        raise LapError(msg)
    number = table["lap"].to_numpy() if "lap" in table else np.arange(len(table))
    clean = table["representative"].to_numpy(dtype=bool) & table["time_s"].notna().to_numpy()
    timed = (table["kind"] == "timed").to_numpy() if "kind" in table else np.ones_like(clean)
    first = number[timed].min() if timed.any() else 0
    order = np.flatnonzero(clean)[np.argsort(number[clean], kind="stable")]
    said = [str(one) for one in table["conditions"].unique()] if "conditions" in table else []
    return SessionLaps(
        name,
        (number[order] - first).astype(np.float64),
        table["time_s"].to_numpy(dtype=np.float64)[order],
        _start(table),
        ", ".join(said),
        None if corner_s is None else corner_s.reindex(number[order]).reset_index(drop=True),
    )


def _start(table: pd.DataFrame) -> pd.Timestamp | None:
    """Begin of the first lap, where the table has dates."""
    if "start_utc" not in table:
        return None
    times = pd.to_datetime(table["start_utc"], utc=True).dropna()
    return None if times.empty else times.min()
