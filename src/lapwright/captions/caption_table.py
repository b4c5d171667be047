"""
Which caption is shown when: one row a caption, in numbers.

Captions of a lap are counted from its own start, so that a new lap begins on the line and times so
far are whole steps.  Not from the start of the video: there the line would fall within a caption.
"""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.arguments import checked
from lapwright.columns import arranged
from lapwright.columns.captions import CAPTIONS
from lapwright.errors import LogError
from lapwright.laps.comparison import Comparison
from lapwright.laps.gaps import gaps
from lapwright.session import Session

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Usual time from caption to caption: read at a glance, and 20 m at 40 m/s. [s]
EVERY_S = 0.5
# A lap time stays long enough to be read twice: seven words a second are too many for a glance at
# a moving picture (common practice, no source). [s]
HOLD_S = 5.0
# Between two places of the delta a straight line errs by 4 ms in a hairpin at 5 m, by less than one
# at this. [m]
_STEP_M = 1.0


@checked
def caption_table(
    session: Session, video_start_s: float, *, every_s: float = EVERY_S,
    reference: int | None = None, other: Session | None = None,
) -> pd.DataFrame:  # fmt: skip
    """
    Say what each caption of a video shows.

    Parameters
    ----------
    session : Session
    video_start_s : float
        When the video begins, on the log's clock; see `video_start_at_line`. [s]
    every_s : float
        From caption to caption; the last of a lap ends with it and is up to half a step longer or
        shorter. [s]
    reference : int, optional
        The reference lap; the best lap where not given.
    other : Session, optional
        The session the reference lap is from, on the same track; this one where not given.

    Returns
    -------
    DataFrame
        One row a caption, see `lapwright.columns.captions.CAPTIONS`; what it shows is as at its
        beginning.

    Raises
    ------
    ValueError
        If the step is not more than zero.
    LogError
        If the video begins after the log, or there is no lap in it.
    LapError
        If the reference lap is missing or has no times.

    Examples
    --------
    >>> table = lw.captions.caption_table(session, session.row(2)["start_s"], every_s=1.0)
    >>> first = table.iloc[0]
    >>> first["lap"], first["video_start_s"], first["lap_time_s"]
    (np.int64(2), np.float64(0.0), np.float64(0.0))
    """
    if not every_s > 0.0:
        msg = f"captions follow each other after more than 0 s, not {every_s}"
        raise ValueError(msg)
    laps = session.laps
    begin, end, of = _grid(laps, every_s)
    seen = begin >= video_start_s - 1e-6
    if not seen.any():
        what = (
            f"the log is not in the video, which begins at {video_start_s:.1f} s of the log; the "
            f"log's laps end at {end.max():.1f} s"
        )
        raise LogError(what, session.log.path, hint="Look at the moment you gave")
    begin, end, of = begin[seen], end[seen], of[seen]
    hidden = _within(begin, gaps(session.mapped, session.motion.start_s, session.motion.end_s))
    pits = _within(begin, np.array([[p.start_s, p.end_s] for p in session.cuts.pits]))
    delta, delta_sd = _deltas(session, begin, of, reference, other)
    speed = session.motion.at(begin).speed_mps
    start = laps["start_s"].to_numpy()[of]
    runs = laps["kind"].to_numpy()[of] != "out"
    table = pd.DataFrame(
        {
            "video_start_s": begin - video_start_s,
            "video_end_s": end - video_start_s,
            "lap": laps["lap"].to_numpy(dtype=np.int64)[of],
            "kind": laps["kind"].to_numpy()[of],
            "lap_time_s": np.where(runs, begin - start, np.nan),
            "delta_s": np.where(hidden, np.nan, delta),
            "delta_sd_s": np.where(hidden, np.nan, delta_sd),
            "speed_mps": np.where(hidden, np.nan, speed),
            "corner": np.where(hidden | pits, 0, _corner_at(session, begin)),
            "pit_lane": pits,
            "done_lap": np.where(begin - start < HOLD_S, _lap_before(laps)[of], -1),
        }
    )
    return arranged(table, CAPTIONS)


def compared_with(
    session: Session, reference: int | None, other: Session | None
) -> dict[int, Comparison]:
    """
    Compare every timed lap with the reference lap.

    Parameters
    ----------
    session, reference, other
        As for `caption_table`.

    Returns
    -------
    dict of int to Comparison
        By lap; empty where there is no reference.
    """
    base = session if other is None else other
    number = base.best_lap if reference is None else reference
    if number is None:
        return {}
    # One that is not there is an error, also where there is no lap to hold against it.
    _ = base.trace(number)
    laps = [n for n in session.timed_laps if not (base is session and n == number)]
    return {n: session.compare(n, number, other, _STEP_M) for n in laps}


def _grid(laps: pd.DataFrame, every_s: float) -> tuple[Floats, Floats, npt.NDArray[np.intp]]:
    """Begin and end of every caption on the log's clock, and the row of its lap."""
    begins, ends, of = [], [], []
    spans = laps[["start_s", "end_s"]].to_numpy(dtype=np.float64)
    for row, (start, end) in enumerate(spans):
        steps = max(round((end - start) / every_s), 1)
        edges = np.append(start + every_s * np.arange(steps), end)
        begins.append(edges[:-1])
        ends.append(edges[1:])
        of.append(np.full(steps, row, dtype=np.intp))
    return np.concatenate(begins), np.concatenate(ends), np.concatenate(of)


def _within(time_s: Floats, spans_s: Floats) -> Flags:
    """Whether times lie within any of some spans, shape (k, 2)."""
    if not len(spans_s):
        return np.zeros(len(time_s), dtype=bool)
    inside = (spans_s[:, 0] <= time_s[:, None]) & (time_s[:, None] < spans_s[:, 1])
    return np.asarray(inside.any(axis=1))


def _deltas(
    session: Session, time_s: Floats, of: npt.NDArray[np.intp], reference: int | None,
    other: Session | None,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Read the delta and its error bar off the comparisons, where the car is at each time."""
    delta, sd = np.full(len(time_s), np.nan), np.full(len(time_s), np.nan)
    numbers = session.laps["lap"].to_numpy()[of]
    for lap, compared in compared_with(session, reference, other).items():
        mine = numbers == lap
        trace, along = compared.lap_trace, compared.delta
        station = np.interp(time_s[mine], trace.time_s, trace.station_m)
        delta[mine] = np.interp(station, along["station_m"], along["delta_s"])
        sd[mine] = np.interp(station, along["station_m"], along["delta_sd_s"])
    return delta, sd


def _corner_at(session: Session, time_s: Floats) -> npt.NDArray[np.int64]:
    """Return the number of the corner the car is in at each time; 0 for none."""
    length = session.path.length_m
    station = session.mapped.station_at(time_s)
    found = np.zeros(len(time_s), dtype=np.int64)
    for corner in session.track.corners:
        # A corner on the line begins before it or ends behind it.
        ahead = np.mod(station - corner.entry_m, length)
        found[ahead <= corner.exit_m - corner.entry_m] = corner.order
    return found


def _lap_before(laps: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Return the timed lap that ends where each lap begins; -1 where there is none."""
    before = np.full(len(laps), -1, dtype=np.int64)
    number, start, end = (laps[name].to_numpy() for name in ("lap", "start_s", "end_s"))
    timed = (laps["kind"] == "timed").to_numpy() & laps["time_s"].notna().to_numpy()
    follows = timed[:-1] & (np.abs(start[1:] - end[:-1]) < 1e-6)
    before[1:][follows] = number[:-1][follows]
    return before
