"""Where a session is cut: passages of the lines, and how sure their times are together."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.geometry import Track
from lapwright.laps.cutting.line_passages import crossing_posterior, gate_crossings, line_passages
from lapwright.laps.cutting.pit_stretches import PitStretch, pit_stretches
from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion, Posterior
from lapwright.numerics.cyclic import cyclic_difference

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Cuts:
    """
    Where a session is cut, and how sure that is.

    Attributes
    ----------
    passages : DataFrame
        See `lapwright.laps.cutting.line_passages.line_passages`; ``time_s`` is the best estimate.
    sectors : ndarray, shape (passages - 1, sector lines)
        Times at which the sector lines were crossed after each passage; NaN where not. [s]
    posterior : Posterior
        Of the passages' times, then of the sectors' times that exist, row by row.
    index : ndarray of int, shape (passages - 1, sector lines)
        Place of each sector crossing in the posterior; -1 where there is none.
    pits : tuple of PitStretch
    """

    passages: pd.DataFrame
    sectors: Floats
    posterior: Posterior
    index: npt.NDArray[np.intp]
    pits: tuple[PitStretch, ...]


def find_cuts(track: Track, motion: Motion, mapped: TrackMapping) -> Cuts:
    """
    Find the passages of all lines and their joint posterior.

    Parameters
    ----------
    track : Track
    motion : Motion
    mapped : TrackMapping

    Returns
    -------
    Cuts
    """
    noise = motion.best.smoothing.noise
    slack_m = 3.0 * float(np.hypot(noise.drift_m, noise.white_m))
    pits = pit_stretches(mapped)
    table = line_passages(track, motion, mapped, pits, slack_m)
    times = table["time_s"].to_numpy()
    sectors = _sector_times(track, motion, mapped, times, slack_m)
    seen = np.isfinite(sectors)
    index = np.full(sectors.shape, -1, dtype=np.intp)
    index[seen] = len(times) + np.arange(seen.sum())
    normals = np.array([gate.forward for gate in (track.start_finish, *track.sectors)])
    which = np.broadcast_to(np.arange(1, 1 + sectors.shape[1]), sectors.shape)[seen]
    all_times = np.concatenate([times, sectors[seen]])
    normal = normals[np.concatenate([np.zeros(len(times), dtype=np.intp), which])]
    posterior = crossing_posterior(motion, all_times, normal)
    # A passage at the very end of the log must not come to lie behind it.
    best = np.clip(posterior.mean, motion.start_s, motion.end_s)
    sectors = sectors.copy()
    sectors[seen] = best[len(times) :]
    table = table.assign(time_s=np.where(table["at_line"], best[: len(times)], times))
    return Cuts(table, sectors, posterior, index, pits)


def _sector_times(
    track: Track, motion: Motion, mapped: TrackMapping, cuts: Floats, slack_m: float
) -> Floats:
    """Time of each sector line's crossing after each passage, shape (passages - 1, lines)."""
    out = np.full((max(len(cuts) - 1, 0), len(track.sectors)), np.nan)
    stations = track.gate_stations_m[1:]
    for k, (gate, station) in enumerate(zip(track.sectors, stations, strict=True)):
        table = gate_crossings(gate, motion, slack_m)
        at = mapped.station_at(table["time_s"])
        near = np.abs(cyclic_difference(at, station, mapped.path.length_m)) < 50.0
        times = table["time_s"].to_numpy()[near]
        for i in range(len(out)):
            inside = times[(times > cuts[i]) & (times < cuts[i + 1])]
            if len(inside):
                out[i, k] = inside[0]
    return out
