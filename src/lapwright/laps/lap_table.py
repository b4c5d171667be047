"""The laps of a session: cuts, kinds, times with their error bars, sectors, flags."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, empty
from lapwright.columns.laps import LAPS
from lapwright.geometry import Track
from lapwright.laps.lap_flags import REPRESENTATIVE_FACTOR, SLOW_FACTOR, lap_flags
from lapwright.laps.line_passages import crossing_posterior, gate_crossings, line_passages
from lapwright.laps.pit_stretches import PitStretch, pit_stretches
from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion, Posterior
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]

_LAUNCH_STANDSTILL_S = 3.0
_LAUNCH_MOVING_MPS = 0.5
_GRID_M = 400.0
NOT_FOR_BEST = frozenset({"gap", "off_path", "short_cut", "reversed"})


@dataclass(frozen=True, eq=False)
class Cuts:
    """
    Where a session is cut, and how sure that is.

    Attributes
    ----------
    passages : DataFrame
        See `lapwright.laps.line_passages.line_passages`; ``time_s`` is the best estimate.
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
        apart = mapped.station_at(table["time_s"]) - station
        length = mapped.path.length_m
        near = np.abs(apart - length * np.round(apart / length)) < 50.0
        times = table["time_s"].to_numpy()[near]
        for i in range(len(out)):
            inside = times[(times > cuts[i]) & (times < cuts[i + 1])]
            if len(inside):
                out[i, k] = inside[0]
    return out


def lap_table(track: Track, motion: Motion, mapped: TrackMapping, cuts: Cuts) -> pd.DataFrame:
    """
    The laps of a session.

    Parameters
    ----------
    track : Track
    motion : Motion
    mapped : TrackMapping
    cuts : Cuts

    Returns
    -------
    DataFrame
        One row a lap, see `lapwright.columns.laps.LAPS`.  Times are NaN where a line is missing.
    """
    times = _times(cuts)
    rows = [_row(motion, mapped, cuts, times, i) for i in range(-1, len(cuts.passages))]
    kept = [row for row in rows if row is not None]
    first = 0 if kept and kept[0]["kind"] == "out" else 1
    if not kept:
        # The car never left the pit lane.
        return empty(LAPS)
    table = pd.DataFrame(kept)
    table.insert(0, "lap", np.arange(first, first + len(kept)))
    return arranged(_judged(table), LAPS)


def _row(
    motion: Motion, mapped: TrackMapping, cuts: Cuts, times: list[dict[str, object]], i: int
) -> dict[str, object] | None:
    """One lap: from passage i to the next; -1 begins at the log's start."""
    table, last = cuts.passages, len(cuts.passages) - 1
    start = float(table["time_s"].iloc[i]) if i >= 0 else motion.start_s
    end = float(table["time_s"].iloc[i + 1]) if i < last else motion.end_s
    begins_in_pit, ends_in_pit = _in_pit(cuts.pits, start), _in_pit(cuts.pits, end)
    part = mapped.between(start, end)
    if i in (-1, last):
        inside = [p for p in cuts.pits if p.start_s <= start + 1.0 and p.end_s >= end - 1.0]
        if inside or part.stop - part.start < 3:
            return None
    kind = "timed"
    if i == -1 or begins_in_pit:
        kind = "out"
    elif i == last or ends_in_pit:
        kind = "in"
    whole = 0 <= i < last and bool(table["at_line"].iloc[i] and table["at_line"].iloc[i + 1])
    flags = lap_flags(mapped, start, end, pit_lap=kind != "timed")
    if kind != "timed":
        flags = [f for f in flags if f in ("gap", "spin")]
    if i == last and not ends_in_pit and mapped.speed_mps[-1] > 2.0:
        flags.append("log_ends")
    row: dict[str, object] = {
        "kind": kind, "complete": whole, "start_s": start, "end_s": end,
        **(times[i] if whole else _no_times(cuts)), "time_from_launch_s": np.nan,
        **_top_speed(mapped, part),
    }  # fmt: skip
    launch = _launch(mapped, start) if kind == "timed" else None
    if launch is not None:
        flags.append("standing_start")
        row["time_from_launch_s"] = end - launch
    row["flags"] = tuple(flags)
    return row


def _in_pit(pits: tuple[PitStretch, ...], time_s: float) -> bool:
    return any(p.start_s <= time_s <= p.end_s for p in pits)


def _no_times(cuts: Cuts) -> dict[str, object]:
    nothing = (np.nan,) * (cuts.sectors.shape[1] + 1)
    return {
        "time_s": np.nan, "time_sd_s": np.nan, "time_low95_s": np.nan, "time_high95_s": np.nan,
        "sectors_s": nothing, "sector_sds_s": nothing,
    }  # fmt: skip


def _times(cuts: Cuts) -> list[dict[str, object]]:
    """Lap and sector times with their error bars from each passage to the next, all at once."""
    laps, lines = max(len(cuts.passages) - 1, 0), cuts.sectors.shape[1]
    pairs = np.zeros((laps, lines + 2, len(cuts.posterior.mean)))
    known = np.zeros((laps, lines + 1), dtype=bool)
    for i in range(laps):
        pairs[i, 0, i + 1], pairs[i, 0, i] = 1.0, -1.0
        marks = [i, *(int(k) for k in cuts.index[i]), i + 1]
        for k in range(lines + 1):
            known[i, k] = marks[k] >= 0 and marks[k + 1] >= 0
            if known[i, k]:
                pairs[i, k + 1, marks[k + 1]], pairs[i, k + 1, marks[k]] = 1.0, -1.0
    spans = cuts.posterior.combined(pairs.reshape(laps * (lines + 2), pairs.shape[2]))
    mean, sd, low, high = (
        values.reshape(laps, lines + 2) for values in (spans.mean, spans.sd, *spans.ci95())
    )
    sectors, sector_sds = (np.where(known, values[:, 1:], np.nan) for values in (mean, sd))
    return [
        {
            "time_s": float(mean[i, 0]), "time_sd_s": float(sd[i, 0]),
            "time_low95_s": float(low[i, 0]), "time_high95_s": float(high[i, 0]),
            "sectors_s": tuple(sectors[i].tolist()),
            "sector_sds_s": tuple(sector_sds[i].tolist()),
        }
        for i in range(laps)
    ]  # fmt: skip


def _top_speed(mapped: TrackMapping, part: slice) -> dict[str, object]:
    speed = mapped.speed_mps[part]
    if len(speed) == 0:
        return {"top_speed_mps": np.nan, "top_speed_station_m": np.nan}
    at = int(np.argmax(speed))
    station = float(np.mod(mapped.station_m[part][at], mapped.path.length_m))
    return {"top_speed_mps": float(speed[at]), "top_speed_station_m": station}


def _launch(mapped: TrackMapping, start_s: float) -> float | None:
    """When the car got away, if it stood on the track shortly before the line."""
    before = mapped.between(start_s - 120.0, start_s)
    runs = flag_runs(mapped.speed_mps[before] < _LAUNCH_MOVING_MPS)
    if not runs:
        return None
    time_s, station = mapped.time_s[before], mapped.station_m[before]
    first, last = runs[-1]
    stood = time_s[last] - time_s[first]
    to_line = float(mapped.station_at(start_s)) - station[last]
    if (
        stood < _LAUNCH_STANDSTILL_S
        or to_line > _GRID_M
        or mapped.away[before][first : last + 1].all()
    ):
        return None
    return float(time_s[last])


def _judged(table: pd.DataFrame) -> pd.DataFrame:
    """Add the flag ``slow`` and which laps are representative."""
    timed = (table["kind"] == "timed") & table["time_s"].notna()
    times = np.sort(table.loc[timed, "time_s"].to_numpy(dtype=np.float64))
    if len(times) == 0:
        return table.assign(representative=False)
    usual = float(np.median(times[: (len(times) + 1) // 2]))
    slow = timed & (table["time_s"] > SLOW_FACTOR * usual)
    flags = pd.Series(
        [
            ("slow", *f) if s and "standing_start" not in f else f
            for f, s in zip(table["flags"], slow, strict=True)
        ],
        index=table.index,
    )
    table = table.assign(flags=flags)
    clean = table["flags"].map(len) == 0
    near = table["time_s"] <= REPRESENTATIVE_FACTOR * usual
    return table.assign(representative=timed & clean & near)


def best_lap(table: pd.DataFrame) -> int | None:
    """Number of the fastest timed lap that went the whole way on the track, or None."""
    good = (table["kind"] == "timed") & table["time_s"].notna()
    good &= table["flags"].map(NOT_FOR_BEST.isdisjoint)
    if not good.any():
        return None
    laps, times = table["lap"].to_numpy()[good], table["time_s"].to_numpy()[good]
    return int(laps[np.argmin(times)])


def theoretical_best(table: pd.DataFrame, cuts: Cuts) -> tuple[float, float] | None:
    """
    Sum of the best sectors of clean laps, which nobody drove in one lap.

    Parameters
    ----------
    table : DataFrame
        From `lap_table`.
    cuts : Cuts

    Returns
    -------
    (time_s, sd_s) or None
        None where a sector has no clean time.  Being the best of several, each sector is lucky by
        a part of its own error bar, which the sd does not take away.
    """
    clean = table[table["representative"]]
    if clean.empty:
        return None
    sectors = np.array([list(row) for row in clean["sectors_s"]])
    if not np.isfinite(sectors).any(axis=0).all():
        return None
    best = np.nanargmin(np.where(np.isfinite(sectors), sectors, np.inf), axis=0)
    passage = np.searchsorted(cuts.passages["time_s"], clean["start_s"].to_numpy() - 1e-6)
    pick = np.zeros((1, len(cuts.posterior.mean)))
    for k, row in enumerate(best):
        i = int(passage[row])
        marks = [i, *(int(j) for j in cuts.index[i]), i + 1]
        pick[0, marks[k + 1]] += 1.0
        pick[0, marks[k]] -= 1.0
    total = cuts.posterior.combined(pick)
    return float(total.mean[0]), float(total.sd[0])
