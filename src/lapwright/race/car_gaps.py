"""
The gap between two logged cars, at each passage of the start line and the sector lines.

Both logs carry the satellites' time, so that no clock has to be set by the other.  A gap is between
the two receivers' antennas: how far these sit behind the cars' noses is not known.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, empty
from lapwright.columns.race import CAR_GAPS
from lapwright.geometry import Track
from lapwright.laps.cutting.cuts import Cuts
from lapwright.laps.track_mapping import TrackMapping

Floats = npt.NDArray[np.float64]

# Closer than so many sd who was ahead is open.
_SURE_SDS = 2.0


@dataclass(frozen=True, eq=False)
class LoggedCar:
    """
    What is needed of one car.

    Attributes
    ----------
    track : Track
        Where its receiver saw it.
    mapped : TrackMapping
    cuts : Cuts
    laps : DataFrame
        See `lapwright.laps.lap_table`.
    place_cov_m2 : ndarray, shape (2, 2)
        Of where the track lies for its receiver.
    late_s : float
        When its first fix was, on a clock that both cars share.
    """

    track: Track
    mapped: TrackMapping
    cuts: Cuts
    laps: pd.DataFrame
    place_cov_m2: Floats
    late_s: float


def car_gaps(mine: LoggedCar, other: LoggedCar, begins_s: float | None = None) -> pd.DataFrame:
    """
    Gaps from one car to another, wherever both passed the same line on the same lap.

    Parameters
    ----------
    mine, other : LoggedCar
    begins_s : float, optional
        When the race began, on the clock that both share: from then on the laps are counted.
        The two are taken to be within half a lap of each other there.  The first passage that both
        logs reach where not given. [s]

    Returns
    -------
    DataFrame
        See `lapwright.columns.race.CAR_GAPS`; empty where the cars have no passage in common.
    """
    one, two = _passages(mine), _passages(other)
    first_s = max(mine.late_s + mine.mapped.time_s[0], other.late_s + other.mapped.time_s[0])
    last_s = min(mine.late_s + mine.mapped.time_s[-1], other.late_s + other.mapped.time_s[-1])
    from_s = first_s if begins_s is None else max(first_s, begins_s)
    one, two = (table[table["clock_s"] >= from_s] for table in (one, two))
    if one.empty or two.empty or from_s >= last_s:
        return empty(CAR_GAPS)
    at_s = from_s if begins_s is not None else max(from_s, float(one["clock_s"].iloc[0]))
    # By how many laps the one's count is ahead of the other's.
    apart = _turns(mine, at_s) - _turns(other, at_s)
    two = two.assign(turn=two["turn"] + round(apart))
    both = one.merge(two, on=["turn", "gate"], suffixes=("", "_other"))
    if both.empty:
        return empty(CAR_GAPS)
    both = both.sort_values("clock_s", kind="stable").reset_index(drop=True)
    gap = (both["clock_s"] - both["clock_s_other"]).to_numpy()
    sd = np.hypot(both["sd_s"], both["sd_s_other"]).to_numpy()
    ahead, changed = _order(gap, sd)
    return arranged(
        pd.DataFrame(
            {
                "lap": both["lap"], "gate": both["gate"], "time_s": both["clock_s"] - mine.late_s,
                "gap_s": gap, "gap_sd_s": sd, "ahead": ahead, "changed": changed,
            }
        ),
        CAR_GAPS,
    )  # fmt: skip


def _order(gap_s: Floats, sd_s: Floats) -> tuple[list[str], list[bool]]:
    """Who was ahead at each passage, and where that is another one than when last known."""
    sure = np.abs(gap_s) >= _SURE_SDS * sd_s
    ahead = ["open" if not s else "other" if g > 0.0 else "this"
             for g, s in zip(gap_s, sure, strict=True)]  # fmt: skip
    known, changed = "", []
    for who in ahead:
        changed.append(who != "open" and known not in ("", who))
        known = known if who == "open" else who
    return ahead, changed


def _turns(car: LoggedCar, clock_s: float) -> float:
    """How often a car has been round, in laps since an arbitrary one."""
    return float(car.mapped.station_at(clock_s - car.late_s)) / car.mapped.path.length_m


def _passages(car: LoggedCar) -> pd.DataFrame:
    """Every passage of a line in order of time: which turn, which line, when, and its sd."""
    cuts, length = car.cuts, car.mapped.path.length_m
    at_line = cuts.passages["at_line"].to_numpy(dtype=bool)
    line_s = cuts.passages["time_s"].to_numpy()
    sd = cuts.posterior.sd
    seen = np.isfinite(cuts.sectors)
    gate = np.broadcast_to(np.arange(1, 1 + cuts.sectors.shape[1]), cuts.sectors.shape)[seen]
    time_s = np.concatenate([line_s[at_line], cuts.sectors[seen]])
    which = np.concatenate([np.zeros(int(at_line.sum()), dtype=np.int64), gate])
    sds = np.concatenate([sd[: len(line_s)][at_line], sd[cuts.index[seen]]])
    sds = np.hypot(sds, _place_sd_s(car, time_s, which))
    station = car.mapped.station_at(time_s) - np.asarray(car.track.gate_stations_m)[which]
    # The last lap that had begun: a passage of the line ends a lap.
    row = np.searchsorted(car.laps["start_s"].to_numpy(), time_s - 1e-3) - 1
    table = pd.DataFrame(
        {
            "clock_s": time_s + car.late_s, "gate": which, "sd_s": sds,
            "turn": np.round(station / length).astype(np.int64),
            "lap": car.laps["lap"].to_numpy()[np.maximum(row, 0)],
        }
    )  # fmt: skip
    return table.sort_values("clock_s", kind="stable").reset_index(drop=True)


def _place_sd_s(car: LoggedCar, time_s: Floats, gate: npt.NDArray[np.int64]) -> Floats:
    """What not knowing where the line lies for this receiver adds to a passage's error bar."""
    normals = np.array([g.forward for g in (car.track.start_finish, *car.track.sectors)])[gate]
    sd_m = np.sqrt(np.einsum("ki,ij,kj->k", normals, car.place_cov_m2, normals))
    speed = np.interp(time_s, car.mapped.time_s, car.mapped.speed_mps)
    return np.asarray(sd_m / np.maximum(speed, 0.3))
