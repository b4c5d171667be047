"""What two laps of one session have in common of their errors, corner by corner."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.geometry import Track
from lapwright.laps.cutting.line_passages import crossing_weights
from lapwright.motion import Motion, Posterior

Floats = npt.NDArray[np.float64]
RowsOf = Callable[[Motion, Floats], Floats]


def shared_errors(
    track: Track, motion: Motion, mine: pd.DataFrame, reference: pd.DataFrame
) -> dict[str, Floats]:
    """
    Covariance of the errors of two laps' passes.

    Parameters
    ----------
    track : Track
    motion : Motion
        Of both laps.
    mine, reference : DataFrame
        The passes of one lap each, indexed by corner, the same corners in the same order.

    Returns
    -------
    dict of ndarray, shape (corners,)
        By quantity, in its unit squared: drift, a slow error of the velocity and the clock are
        much the same a lap later, so a difference is surer than its two sides.
    """
    laps = mine, reference
    ends = {one.order: (one.entry_m, one.exit_m) for one in track.corners}
    station = np.array([ends[int(k)] for k in mine.index]).reshape(-1, 2).T
    asked = {
        **{f"{name}_speed_mps": (f"{name}_s", _faster) for name in ("entry", "exit")},
        "min_speed_mps": ("min_speed_s", _faster),
        "brake_station_m": ("brake_s", _ahead),
        "throttle_station_m": ("throttle_s", _ahead),
    }
    moments, rows = [], []
    for name, rows_of in asked.values():
        moments.append(np.concatenate([_moments(motion, t, name) for t in laps]))
        rows.append(rows_of(motion, moments[-1]))
    for lap in _crossings(track, motion, laps, station):
        for moment, crossed in lap:
            moments.append(moment)
            rows.append(crossed)
    # All at once: each question to the motion costs more than what is asked.
    posterior = motion.posterior(np.concatenate(moments), np.concatenate(rows))
    n = len(mine)
    shared = {
        name: _covariance(_part(posterior, slice(2 * k * n, 2 * (k + 1) * n)))
        for k, name in enumerate(asked)
    }
    times = _covariance(_part(posterior, slice(2 * len(asked) * n, None)).combined(_spent(n)))
    spans = [t["time_s"].to_numpy(dtype=np.float64) for t in laps]
    return {
        **shared,
        # One clock for both laps: only what they differ by is unsure by its rate.
        "time_s": times + motion.clock_rate_sd**2 * spans[0] * spans[1],
        "brake_to_corner_m": shared["brake_station_m"],
    }


def _moments(motion: Motion, passes: pd.DataFrame, name: str) -> Floats:
    """Moments of a log; any where there is none, for nothing is made of it."""
    moment = passes[name].to_numpy(dtype=np.float64)
    moment = np.nan_to_num(moment, nan=motion.start_s)
    return np.asarray(np.clip(moment, motion.start_s, motion.end_s))


def _ahead(motion: Motion, moment: Floats) -> Floats:
    rows = np.zeros((len(moment), 6))
    rows[:, :2] = motion.at(moment).direction
    return rows


def _faster(motion: Motion, moment: Floats) -> Floats:
    rows = np.zeros((len(moment), 6))
    rows[:, 2:4] = motion.at(moment).direction
    return rows


def _part(posterior: Posterior, rows: slice) -> Posterior:
    """Some of the numbers."""
    return Posterior(posterior.weight, posterior.means[:, rows], posterior.covs[:, rows, rows])


def _covariance(posterior: Posterior) -> Floats:
    """
    Of the first half of some numbers with the second, one by one.

    The correlation under all plausible noise parameters times the bars that are shown: half of a
    central interval is not the standard deviation of a mixture.
    """
    apart = posterior.means - posterior.weight @ posterior.means
    cov = np.einsum("k,kij->ij", posterior.weight, posterior.covs)
    cov = cov + np.einsum("k,ki,kj->ij", posterior.weight, apart, apart)
    n = len(cov) // 2
    own = np.diagonal(cov)
    with np.errstate(invalid="ignore", divide="ignore"):
        shared = np.diagonal(cov[:n, n:]) / np.sqrt(own[:n] * own[n:])
    return np.asarray(np.nan_to_num(shared) * posterior.sd[:n] * posterior.sd[n:])


def _crossings(
    track: Track, motion: Motion, laps: tuple[pd.DataFrame, pd.DataFrame], station_m: Floats
) -> list[list[tuple[Floats, Floats]]]:
    """Of each lap the moments of corner entry and exit, and the functionals of their errors."""
    path = track.path
    assert path is not None
    heading = path.at(np.mod(station_m, track.length_m)).heading_rad
    normals = np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    out = []
    for passes in laps:
        moments = [_moments(motion, passes, name) for name in ("entry_s", "exit_s")]
        out.append(
            [(m, crossing_weights(motion, m, n)) for m, n in zip(moments, normals, strict=True)]
        )
    return out


def _spent(n: int) -> Floats:
    """Exit minus entry of each lap: entry and exit of mine, then of the reference."""
    pick = np.zeros((2 * n, 4 * n))
    for k in range(2):
        pick[np.arange(k * n, (k + 1) * n), 2 * k * n + np.arange(n)] = -1.0
        pick[np.arange(k * n, (k + 1) * n), (2 * k + 1) * n + np.arange(n)] = 1.0
    return pick
