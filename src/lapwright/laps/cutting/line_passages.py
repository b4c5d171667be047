"""
The moments that cut a session into laps: passages of the start/finish line, each with its place.

A passage on the track lies within the line's width plus what the position is unsure of.  In the pit
lane the line is extended sideways; where the lane does not pass the line at all, the session is
cut at the standstill.
"""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.geometry import Gate, Track, crossings, passages
from lapwright.laps.cutting.pit_stretches import PitStretch
from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion, Posterior, clock_cov

Floats = npt.NDArray[np.float64]

# How far the line reaches into a pit lane beside it.
_PIT_REACH_M = 80.0
# Farther along the circuit than this from the line is another part of it.
_NEAR_LINE_M = 80.0


def line_passages(
    track: Track, motion: Motion, mapped: TrackMapping, pits: tuple[PitStretch, ...], slack_m: float
) -> pd.DataFrame:
    """
    Passages of the start/finish line, on the track and in the pit lane.

    Parameters
    ----------
    track : Track
    motion : Motion
    mapped : TrackMapping
    pits : tuple of PitStretch
    slack_m : float
        What the position is unsure of. [m]

    Returns
    -------
    DataFrame
        In order of time: ``time_s``, ``place`` (``"track"`` or ``"pit_lane"``), ``offset_m``
        (to the left of the line's middle), ``normal_speed_mps`` and ``at_line`` (False where the
        cut is at a standstill because the lane misses the line).
    """
    gate = track.start_finish
    every = crossings(gate, motion, slack_m=_PIT_REACH_M)
    apart = np.mod(mapped.station_at(every["time_s"]) + 0.5 * mapped.path.length_m,
                   mapped.path.length_m) - 0.5 * mapped.path.length_m  # fmt: skip
    every = every[np.abs(apart) < _NEAR_LINE_M]
    in_pit = _inside(every["time_s"].to_numpy(), pits)
    on_line = np.abs(every["offset_m"].to_numpy()) <= 0.5 * gate.width_m + slack_m
    every = every[in_pit | on_line]
    kept = passages(every.reset_index(drop=True))
    place = np.where(_inside(kept["time_s"].to_numpy(), pits), "pit_lane", "track")
    table = pd.DataFrame(
        {
            "time_s": kept["time_s"],
            "place": place,
            "offset_m": kept["offset_m"],
            "normal_speed_mps": kept["normal_speed_mps"],
            "at_line": True,
        }
    )
    return _with_standstills(table, pits, motion)


def _inside(time_s: Floats, pits: tuple[PitStretch, ...]) -> npt.NDArray[np.bool_]:
    inside = np.zeros(len(time_s), dtype=bool)
    for pit in pits:
        inside |= (time_s >= pit.start_s) & (time_s <= pit.end_s)
    return inside


def _with_standstills(
    table: pd.DataFrame, pits: tuple[PitStretch, ...], motion: Motion
) -> pd.DataFrame:
    """Add a cut for each visit to a lane that does not pass the line."""
    extra = []
    for pit in pits:
        inner = pit.start_s > motion.start_s and pit.end_s < motion.end_s
        if inner and not table["time_s"].between(pit.start_s, pit.end_s).any():
            extra.append(
                {"time_s": pit.stop_s, "place": "pit_lane", "offset_m": np.nan,
                 "normal_speed_mps": np.nan, "at_line": False}
            )  # fmt: skip
    if not extra:
        return table
    both = pd.concat([table, pd.DataFrame(extra)], ignore_index=True)
    return both.sort_values("time_s", kind="stable").reset_index(drop=True)


def crossing_weights(motion: Motion, time_s: Floats, normal: Floats) -> Floats:
    """
    Functionals that turn an error of position into one of a crossing's time.

    Parameters
    ----------
    motion : Motion
    time_s : ndarray, shape (k,)
    normal : ndarray, shape (k, 2)
        Unit normals of what is crossed, in driving direction.

    Returns
    -------
    ndarray, shape (k, 6)
        A car truly farther on than estimated crossed earlier than estimated.
    """
    velocity = motion.at(time_s).velocity_mps
    rate = np.einsum("kj,kj->k", velocity, normal)
    weights = np.zeros((len(time_s), 6))
    # At walking pace over a line its moment is anybody's guess, but a finite one.
    weights[:, :2] = -normal / np.maximum(rate, 0.3)[:, None]
    return weights


def time_errors(
    motion: Motion, time_s: Floats, weights: Floats, *, best_only: bool = False
) -> Posterior:
    """
    Errors of moments of one log: by the positions, and by the rate of the log's clock.

    Every bar of a time comes from here.  The clock's part is common to the whole session: in the
    difference of two laps it cancels, and between the logs of two sessions it does not.

    Parameters
    ----------
    motion : Motion
    time_s : ndarray, shape (k,)
    weights : ndarray, shape (k, 6)
        From `crossing_weights`.
    best_only : bool
        As in `Motion.posterior`.

    Returns
    -------
    Posterior
    """
    errors = motion.posterior(time_s, weights, best_only=best_only)
    return errors.widened(clock_cov(time_s, motion.clock_rate_sd))


def crossing_posterior(motion: Motion, time_s: Floats, normal: Floats) -> Posterior:
    """
    Joint posterior of the times at which given lines were crossed.

    Parameters
    ----------
    motion : Motion
    time_s : ndarray, shape (k,)
        Crossings of the most probable trajectory.
    normal : ndarray, shape (k, 2)
        Unit normals, in driving direction.

    Returns
    -------
    Posterior
        Of the times themselves.
    """
    weights = crossing_weights(motion, time_s, normal)
    posterior = time_errors(motion, time_s, weights)
    return posterior.shifted(time_s - posterior.means[0])


def gate_crossings(gate: Gate, motion: Motion, slack_m: float) -> pd.DataFrame:
    """Forward crossings of a sector line, see `lapwright.geometry.crossings`."""
    table = crossings(gate, motion, slack_m=slack_m)
    return table[table["forward"]].reset_index(drop=True)
