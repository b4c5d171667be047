"""The laps of a session: kinds, times with their error bars, sectors, flags."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, empty
from lapwright.columns.laps import LAPS
from lapwright.geometry import Track
from lapwright.laps.clean_laps import with_clean_laps
from lapwright.laps.cutting.cuts import Cuts
from lapwright.laps.cutting.pit_stretches import PitStretch
from lapwright.laps.cutting.standing_start import got_away_s
from lapwright.laps.gaps import are_bridged, gaps
from lapwright.laps.lap_flags import lap_flags
from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]


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
    return arranged(with_clean_laps(table), LAPS)


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
    elif "gap" in flags and whole:
        time_s, sd_s = (float(str(times[i][name])) for name in ("time_s", "time_sd_s"))
        if are_bridged(motion, gaps(mapped, start, end), time_s, sd_s):
            flags[flags.index("gap")] = "bridged"
    if i == last and not ends_in_pit and mapped.speed_mps[-1] > 2.0:
        flags.append("log_ends")
    row: dict[str, object] = {
        "kind": kind, "complete": whole, "start_s": start, "end_s": end,
        **(times[i] if whole else _no_times(cuts)), "time_from_launch_s": np.nan,
        **_top_speed(mapped, part),
    }  # fmt: skip
    launch = got_away_s(mapped, start) if kind == "timed" else None
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
