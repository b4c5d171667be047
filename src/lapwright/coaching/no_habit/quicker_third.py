"""
What the quicker third of the runs through a corner had in common, as description and no more.

The quicker runs of a driver who varies at random have something in common too, so nothing follows
from it; `lapwright.coaching.habit_search` is the test.  The error bar of a difference is that of
two medians: each has pi / 2 times the variance of a mean, for many normal values [1]_; of two
values it is their mean, and for three to ten the variance is less, so the bars are on the wide
side.

References
----------
.. [1] H. A. David and H. N. Nagaraja, "Order Statistics", 3rd ed., Wiley, 2003, on the sample
   median; from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.evidence import Evidence

Floats = npt.NDArray[np.float64]
Rows = npt.NDArray[np.intp]

# The middle of fewer quick runs is luck.
MIN_QUICKEST = 2
_MEDIAN = np.pi / 2.0
# What happens on fewer of the runs than this is not looked at.
_MOSTLY = 0.8
# A quantity and its own measurement error.
QUANTITIES = {
    "brake_to_corner_m": "brake_sd_m",
    "min_speed_mps": "min_speed_sd_mps",
    "min_speed_station_m": "min_speed_station_sd_m",
    "throttle_station_m": "throttle_sd_m",
    "apex_aside_m": "apex_aside_sd_m",
    "exit_speed_mps": "exit_speed_sd_mps",
}
# A difference of less than so many of its error bars is none.
RESOLVED_SDS = 2.0


@dataclass(frozen=True, slots=True)
class Compared:
    """
    One quantity on the quicker third and on the rest.

    Attributes
    ----------
    quantity : str
        A column of the passes, one of `QUANTITIES`.
    quicker, rest : float
        Medians, in the unit at the end of its name.
    difference_sd : float
        Error bar of ``quicker - rest``: the scatter from run to run, which holds the measurement.
    """

    quantity: str
    quicker: float
    rest: float
    difference_sd: float

    @property
    def difference(self) -> float:
        """Quicker minus rest."""
        return self.quicker - self.rest

    @property
    def resolved(self) -> bool:
        """Whether the two differ by more than twice the error bar."""
        return abs(self.difference) > RESOLVED_SDS * self.difference_sd


@dataclass(frozen=True, slots=True)
class QuickerThird:
    """
    The quicker third of the clean runs through a corner.

    Attributes
    ----------
    corner : int
    laps : tuple of int
        The quicker ones, the quickest first.
    count : int
        Of all clean runs.
    compared : tuple of Compared
        Without what does not happen on most runs.
    """

    corner: int
    laps: tuple[int, ...]
    count: int
    compared: tuple[Compared, ...]


def quickest_rows(span_s: Floats) -> Rows:
    """
    Positions of the quickest third, the quickest first.

    Parameters
    ----------
    span_s : ndarray, shape (n,)

    Returns
    -------
    ndarray of int
        None where there are fewer than six runs.
    """
    count = len(span_s) // 3
    if count < MIN_QUICKEST:
        return np.zeros(0, dtype=np.intp)
    return np.argsort(span_s, kind="stable")[:count]


def quicker_third(evidence: Evidence, corner: int) -> QuickerThird | None:
    """
    Describe the quicker third of the clean runs through a corner.

    Parameters
    ----------
    evidence : Evidence
    corner : int

    Returns
    -------
    QuickerThird or None
        None where there are fewer than six runs.
    """
    (found,) = quicker_thirds(evidence, [corner])
    return found


def quicker_thirds(evidence: Evidence, corners: Sequence[int]) -> list[QuickerThird | None]:
    """
    Describe the quicker third for several corners: their error bars take less at once.

    Parameters
    ----------
    evidence : Evidence
    corners : sequence of int

    Returns
    -------
    list of QuickerThird or None
        See `quicker_third`.
    """
    timed = evidence.passes[np.isfinite(evidence.passes["span_s"])]
    counts = timed["corner"].value_counts()
    enough = [n for n in corners if counts.get(n, 0) // 3 >= MIN_QUICKEST]
    if not enough:
        return [None] * len(corners)
    wanted = list(dict.fromkeys((*QUANTITIES, *QUANTITIES.values())))
    table = evidence.with_bars(enough, wanted)
    table = table[np.isfinite(table["span_s"])]
    return [_third(table[table["corner"] == corner], corner) for corner in corners]


def _third(table: pd.DataFrame, corner: int) -> QuickerThird | None:
    first = quickest_rows(table["span_s"].to_numpy(dtype=np.float64))
    if not len(first):
        return None
    quick = np.zeros(len(table), dtype=bool)
    quick[first] = True
    compared = []
    for name, bar in QUANTITIES.items():
        value, error = (table[c].to_numpy(dtype=np.float64) for c in (name, bar))
        one = _compared(name, value, error, quick)
        compared += [] if one is None else [one]
    laps = table["lap"].to_numpy()[first]
    return QuickerThird(corner, tuple(int(n) for n in laps), len(table), tuple(compared))


def _compared(
    name: str, value: Floats, error: Floats, quick: npt.NDArray[np.bool_]
) -> Compared | None:
    known = np.isfinite(value)
    groups = [value[known & side] for side in (quick, ~quick)]
    if known.mean() < _MOSTLY or min(len(g) for g in groups) < MIN_QUICKEST:
        return None
    squares = sum(float(np.sum((g - g.mean()) ** 2)) for g in groups)
    scatter2 = squares / (int(known.sum()) - 2)
    # Runs that happen to lie close together are not measured any better for it.
    errors = error[known & np.isfinite(error)]
    floor2 = float(np.mean(errors**2)) if len(errors) else 0.0
    share = sum((_MEDIAN if len(g) > MIN_QUICKEST else 1.0) / len(g) for g in groups)
    sd = float(np.sqrt(max(scatter2, floor2) * share))
    quicker, rest = (float(np.median(g)) for g in groups)
    return Compared(name, quicker, rest, sd)
