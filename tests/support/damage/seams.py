"""
Good logs with one seam: a clock set once while driving, two sessions saved into one file.

Nothing of them is damaged, so no lap may be lost but the one across the seam.
"""

import numpy as np
import pandas as pd

from damage.fields import is_fix, later
from damage.good_logs import GoodLog
from damage.lies import Told, told, truth
from damage.light import Lines

_SDS = 2.0


def _fixes(good: GoodLog) -> np.ndarray:
    return np.flatnonzero([is_fix(line, good.suffix) for line in good.lines])


def clock_set(good: GoodLog, share: float, by_s: float) -> Lines:
    """From this share of the log on, every time is later by so much."""
    fixes = _fixes(good)
    # Both sentences of a fix of NMEA stay together.
    at = fixes[round(share * len(fixes)) // 2 * 2]
    return [
        *good.lines[:at],
        *(later(line, good.suffix, by_s) if is_fix(line, good.suffix) else line
          for line in good.lines[at:]),
    ]  # fmt: skip


def at_speed(good: GoodLog) -> Lines:
    """A session of a logger that writes only above some speed: in full flight at both ends."""
    fixes = _fixes(good)
    first, last = (fixes[round(share * len(fixes)) // 2 * 2] for share in (0.2, 0.85))
    return [*good.lines[: fixes[0]], *good.lines[first:last], *good.lines[fixes[-1] + 1 :]]


def line_to_line(good: GoodLog, kind: str) -> Lines:
    """A session saved from the start of its first flying lap to the end of its last one."""
    whole, fixes = truth(kind), _fixes(good)
    laps = whole.laps[whole.laps["kind"] == "timed"]
    time_s = whole.log.fixes["time_s"].to_numpy() + whole.log.first_fix_s
    ends_s = (laps["start_s"].min(), laps["end_s"].max())
    line = whole.log.fixes["line"].to_numpy()
    first, last = (int(line[np.argmin(np.abs(time_s - end_s))]) - 1 for end_s in ends_s)
    return [*good.lines[: fixes[0]], *good.lines[first : last + 1], *good.lines[fixes[-1] + 1 :]]


def twice(good: GoodLog, session: Lines, pause_s: float) -> Lines:
    """The same session again in the same file, so long after its end."""
    log = told(good, session).log
    by_s = log.duration_s + pause_s
    fixes = [k for k, line in enumerate(session) if is_fix(line, good.suffix)]
    again = [later(line, good.suffix, by_s) for line in session[fixes[0] : fixes[-1] + 1]]
    return [*session[: fixes[-1] + 1], *again, *session[fixes[-1] + 1 :]]


def lost_and_new(expected: list[Told], driven: Told, now: Told) -> tuple[int, list[float]]:
    """How many timed laps are not there any more, and counting laps that nobody drove. [s]"""
    left = now.laps[now.laps["time_s"].notna()].reset_index(drop=True)
    lost = 0
    for lap in pd.concat([one.laps for one in expected]).itertuples():
        if np.isnan(lap.time_s):
            continue
        off = (left["time_s"] - lap.time_s).abs()
        off = off / np.hypot(left["time_sd_s"], lap.time_sd_s)
        if len(off) == 0 or off.min() > _SDS:
            lost += 1
        else:
            left = left.drop(index=off.idxmin())
    true = driven.laps[driven.laps["time_s"].notna()]
    new = [
        lap.time_s
        for lap in left[left["representative"]].itertuples()
        if (
            (true["time_s"] - lap.time_s).abs() > _SDS * np.hypot(true["time_sd_s"], lap.time_sd_s)
        ).all()
    ]
    return lost, new
