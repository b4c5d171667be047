"""The standing start: how long a car took from rest to 60 and to 100 km/h, and to the line."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, empty
from lapwright.columns.race import LAUNCHES
from lapwright.laps.cutting.line_passages import crossing_weights, time_errors
from lapwright.laps.cutting.standing_start import got_away_s
from lapwright.laps.gaps import gaps
from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion
from lapwright.race.speed_levels import BACK_TO_REST, Moments, edge_sd_s, reaches, rest_edge

Floats = npt.NDArray[np.float64]

# [m/s]
KMH_60, KMH_100 = 60.0 / 3.6, 100.0 / 3.6
# Whoever is not as fast by then has not tried.
_LONGEST_S = 40.0
_NAMES = ("to_60_kmh", "to_100_kmh", "to_line")


def launches(
    motion: Motion, mapped: TrackMapping, laps: pd.DataFrame, line_forward: tuple[float, float]
) -> pd.DataFrame:
    """
    Time the standing starts of a session.

    Parameters
    ----------
    motion : Motion
    mapped : TrackMapping
    laps : DataFrame
        See `lapwright.laps.lap_table`.
    line_forward : (float, float)
        Unit vector square to the start/finish line, in driving direction.

    Returns
    -------
    DataFrame
        See `lapwright.columns.race.LAUNCHES`; one row a standing start.
    """
    standing = laps["flags"].map(lambda flags: "standing_start" in flags).astype(bool)
    rows = [
        row for _, lap in laps[standing].iterrows()
        if (row := _launch(motion, mapped, lap, np.array(line_forward))) is not None
    ]  # fmt: skip
    return arranged(pd.DataFrame(rows), LAUNCHES) if rows else empty(LAUNCHES)


def _launch(
    motion: Motion, mapped: TrackMapping, lap: pd.Series, forward: Floats
) -> dict[str, float] | None:
    line_s = float(lap["start_s"])
    stood_s = got_away_s(mapped, line_s)
    if stood_s is None:
        return None
    edge = rest_edge(motion, mapped, stood_s, leaves=True)
    if not len(edge.time_s):
        return None
    away_s = float(BACK_TO_REST @ edge.time_s)
    until_s = min(away_s + _LONGEST_S, float(lap["end_s"]))
    ends = [reaches(motion, mapped, away_s, until_s, v) for v in (KMH_60, KMH_100)]
    at_line = np.array([line_s])
    ends.append(Moments(at_line, crossing_weights(motion, at_line, forward[None])))
    row = {"lap": int(lap["lap"]), "start_s": away_s}
    for name, end in zip(_NAMES, ends, strict=True):
        value, sd = since_rest(motion, mapped, edge, end)
        row |= {f"{name}_s": value, f"{name}_sd_s": sd}
    return row


def since_rest(
    motion: Motion, mapped: TrackMapping, edge: Moments, end: Moments
) -> tuple[float, float]:
    """
    Time between a standstill's edge and another moment, with its error bar.

    Parameters
    ----------
    motion : Motion
    mapped : TrackMapping
    edge : Moments
        From `lapwright.race.speed_levels.rest_edge`.
    end : Moments
        One moment, or none.

    Returns
    -------
    time_s, sd_s : float
        NaN without the moment, or where the log has a hole in between.
    """
    if not len(end.time_s):
        return np.nan, np.nan
    both = edge.and_(end)
    low, high = float(both.time_s.min()), float(both.time_s.max())
    if len(gaps(mapped, low, high)):
        return np.nan, np.nan
    pick = np.concatenate([-BACK_TO_REST, [1.0]])[None]
    errors = time_errors(motion, both.time_s, both.weights).combined(pick)
    return float(pick[0] @ both.time_s), float(np.hypot(errors.sd[0], edge_sd_s(mapped)))
