"""
How quick the driver could be with what they already do: a calculated lap, and how sure it is.

It is a calculation, not advice: it says what the driver's own usual cornering, braking and
acceleration would make of their own usual line if they came together on one lap.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.achievable.envelope import find_envelope
from lapwright.achievable.lap import ModelLap, lap_model_sd, model_lap, speed_model_sd
from lapwright.achievable.parts import Measured, corner_parts, part_the_lap
from lapwright.achievable.usual_line import UsualLine, usual_line
from lapwright.achievable.zones import find_zones
from lapwright.columns import empty
from lapwright.columns.achievable import ACHIEVABLE
from lapwright.errors import LapError
from lapwright.laps.lap_trace import LapTrace

Floats = npt.NDArray[np.float64]

# The scatter of fewer laps says too little of what a driver reaches. Common practice, no source.
MIN_LAPS = 5


@dataclass(frozen=True, eq=False)
class Achievable:
    """
    The lap that a driver's own envelope allows on their own usual line.

    A calculation, not advice, and only as good as its interval says.

    Attributes
    ----------
    laps : tuple of int
        The clean laps it rests on.
    time_s, time_sd_s, time_low95_s, time_high95_s : float
        Of the calculated lap. [s]
    usual_s, usual_sd_s : float
        Mean of the clean laps. [s]
    gap_s, gap_sd_s, gap_low95_s, gap_high95_s : float
        Mean less calculated. [s]
    best_lap : int
    best_s : float
        The quickest of the clean laps. [s]
    scatter_s : float
        Standard deviation of the clean laps. [s]
    speed_seen_mps : float
        Highest speed on any of them. [m/s]
    along : DataFrame
        Along the lap: ``station_m``; ``usual_mps``, ``best_mps``, ``allowed_mps``: speed on the
        usual lap, the best and the calculated one; ``allowed_low95_mps``, ``allowed_high95_mps``.
    corners : DataFrame
        One row a corner, see `lapwright.columns.achievable`.

    Examples
    --------
    >>> found = lw.open_session("sample_sessions/saturday_practice.csv").achievable
    >>> bool(found.time_low95_s < found.time_s < found.time_high95_s)
    True
    """

    laps: tuple[int, ...]
    time_s: float
    time_sd_s: float
    time_low95_s: float
    time_high95_s: float
    usual_s: float
    usual_sd_s: float
    gap_s: float
    gap_sd_s: float
    gap_low95_s: float
    gap_high95_s: float
    best_lap: int
    best_s: float
    scatter_s: float
    speed_seen_mps: float
    along: pd.DataFrame
    corners: pd.DataFrame

    @property
    def only_scatter(self) -> bool:
        """
        Whether the gap is no more than scatter and doubt: its interval holds zero.

        Examples
        --------
        >>> lw.open_session("sample_sessions/sunday_race.csv").achievable.only_scatter
        True
        """
        return self.gap_low95_s <= 0.0

    @property
    def beyond(self) -> bool:
        """
        Whether it is quicker than the best lap by more than the scatter, or faster than any.

        Faster: where its whole interval is above the highest speed on any of the laps.

        Examples
        --------
        >>> lw.open_session("sample_sessions/saturday_practice.csv").achievable.beyond
        True
        """
        fastest = float(self.along["allowed_low95_mps"].max())
        return self.best_s - self.time_s > self.scatter_s or fastest > self.speed_seen_mps


def achievable_lap(
    traces: Sequence[LapTrace], spans: pd.DataFrame, time_sd_s: pd.Series,
    speed_sds: Callable[[Floats], Floats],
) -> Achievable:  # fmt: skip
    """
    Work out the lap that the driver's own envelope allows.

    Parameters
    ----------
    traces : sequence of LapTrace
        Of the clean laps.
    spans : DataFrame
        Where the corners' parts begin, see `lapwright.coaching.evidence.span_stations`.
    time_sd_s : Series
        By ``lap`` and ``corner``: error bar of the time over a corner's part.
    speed_sds : callable
        Error bars of the speed at some moments, (k,) to (k,).

    Returns
    -------
    Achievable

    Raises
    ------
    LapError
        If there are fewer than five clean laps, or the car hardly slowed or accelerated on them.

    References
    ----------
    W. F. Milliken and D. L. Milliken, "Race Car Vehicle Dynamics", SAE, 1995, on lap times from
    steady states; T. D. Gillespie, "Fundamentals of Vehicle Dynamics", SAE, 1992, on acceleration
    limited by power and by traction.  Both from memory.
    """
    if len(traces) < MIN_LAPS:
        msg = (
            f"what your own envelope allows takes {MIN_LAPS} clean laps, and there "
            + ("is 1" if len(traces) == 1 else f"are {len(traces)}")
            + ". Drive some more laps without traffic"
        )
        raise LapError(msg)
    line = usual_line(traces)
    zones = find_zones(line)
    envelope = find_envelope(line, zones) if len(zones) else None
    if envelope is None:
        msg = (
            "the car hardly brakes or accelerates on the clean laps, so they show no envelope. "
            "It takes laps at speed on a circuit with corners to brake for"
        )
        raise LapError(msg)
    model = model_lap(line, zones, envelope)
    corners = empty(ACHIEVABLE)
    if len(spans):
        begin = {trace.lap: trace.start_s for trace in traces}
        parts = part_the_lap(line.station_m, traces[0].length_m, spans)
        corners = corner_parts(line, model, parts, Measured(time_sd_s, begin, speed_sds))
    return _put_together(line, model, corners)


def _put_together(line: UsualLine, model: ModelLap, corners: pd.DataFrame) -> Achievable:
    times = line.step_s.sum(axis=1)
    laps, usual, time = len(times), float(times.mean()), float(model.step_s.sum())
    slopes = model.slopes_s.sum(axis=0)[None]
    model_sd = lap_model_sd(np.array([time]))
    bars = model.bars(slopes, model_sd)
    gap_bars = model.bars(slopes, model_sd, ((times - usual) / laps)[:, None])
    half, gap_half = float(bars.half95[0]), float(gap_bars.half95[0])
    scatter = float(times.std(ddof=1))
    best = int(np.argmin(times))
    return Achievable(
        laps=tuple(line.lap.tolist()),
        time_s=time,
        time_sd_s=float(bars.sd[0]),
        time_low95_s=time - half,
        time_high95_s=time + half,
        usual_s=usual,
        usual_sd_s=scatter / float(np.sqrt(laps)),
        gap_s=usual - time,
        gap_sd_s=float(gap_bars.sd[0]),
        gap_low95_s=usual - time - gap_half,
        gap_high95_s=usual - time + gap_half,
        best_lap=int(line.lap[best]),
        best_s=float(times[best]),
        scatter_s=scatter,
        speed_seen_mps=float(line.speed_mps.max()),
        along=_along(line, model, best),
        corners=corners,
    )


def _along(line: UsualLine, model: ModelLap, best: int) -> pd.DataFrame:
    """Speeds along the lap, the calculated one with its interval."""
    speed = model.speed_mps
    half = model.bars(model.slopes_mps, speed_model_sd(speed)).half95
    return pd.DataFrame(
        {
            "station_m": line.station_m,
            "usual_mps": line.speed_mps.mean(axis=0),
            "best_mps": line.speed_mps[best],
            "allowed_mps": speed,
            "allowed_low95_mps": np.maximum(speed - half, 0.0),
            "allowed_high95_mps": speed + half,
        }
    )
