"""
What came of the last try: the loop from one session's items to the next session's passes.

An item is judged by the same corner's passes in both sessions, timed between the same two
stations, all clean runs against all clean runs: picking the best of either would be luck.  How
the rest of the lap changed is taken out, because a warmer track makes every corner quicker.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.arguments import checked
from lapwright.coaching.adjusted_times import without_lap
from lapwright.coaching.before_after import Difference, difference_of_means
from lapwright.coaching.corners_then import corners_today
from lapwright.coaching.evidence import (
    clean_passes,
    span_covariances,
    span_stations,
    timed_passes,
)
from lapwright.coaching.tried import what_was_tried
from lapwright.geometry import Corner, Track
from lapwright.kept import Shelf
from lapwright.laps.lap_trace import LapTrace
from lapwright.laps.session_offset import SessionOffset
from lapwright.motion import Motion
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying

Floats = npt.NDArray[np.float64]

COLUMNS = {
    "braking": "brake_station_m",
    "minimum_speed": "min_speed_mps",
    "throttle": "throttle_station_m",
    "line": "apex_offset_m",
}


class _Session(Protocol):
    """What is needed of a session."""

    @property
    def track(self) -> Track: ...
    @property
    def motion(self) -> Motion: ...
    @property
    def laps(self) -> pd.DataFrame: ...
    @property
    def bare_passes(self) -> pd.DataFrame: ...
    @property
    def notes(self) -> LogNotes: ...
    @property
    def placing(self) -> SessionOffset: ...
    @property
    def shelf(self) -> Shelf: ...
    def trace(self, lap: int) -> LapTrace: ...


@dataclass(frozen=True, slots=True)
class FollowUp:
    """
    What came of one item.

    Attributes
    ----------
    item : WorthTrying
    time : Difference
        Of the time through the corner and to the next braking, this session minus the last. [s]
    against_rest : Difference
        The same without what the other corners changed by. [s]
    feature : Difference
        Of what was to be changed: a station or an offset [m] or a speed [m/s].  Its interval
        holds the passes' scatter and where the sessions lie on the track.
    entries : tuple of str
        What the notes say was tried, in their own words; empty where it was only worth trying.

    See Also
    --------
    lapwright.follow_up_text : The same in a sentence.
    """

    item: WorthTrying
    time: Difference
    against_rest: Difference
    feature: Difference
    entries: tuple[str, ...] = ()

    @property
    def noted(self) -> bool:
        """Whether the notes say that it was tried; which way, only they know."""
        return bool(self.entries)


@checked
def what_came_of_it(
    previous: _Session, session: _Session, items: Sequence[WorthTrying], *,
    noted: Mapping[WorthTrying, tuple[str, ...]] | None = None,
) -> tuple[FollowUp, ...]:  # fmt: skip
    """
    Compare the passes of two sessions where something was tried, or worth trying.

    Parameters
    ----------
    previous : Session
        The one before, of the same driver.
    session : Session
        On the same track; what its notes say was tried is kept as written.
    items : sequence of WorthTrying
        One that was noted with its place is followed up there, whatever its number is today.
    noted : mapping of WorthTrying to tuple of str, optional
        What the notes say of each item; read in the session's notes where not given.

    Returns
    -------
    tuple of FollowUp
        One for each item whose corner has clean runs in both.

    Raises
    ------
    LogError, TrackError
        As `Session.laps`.

    References
    ----------
    B. L. Welch, "The generalization of 'Student's' problem when several different population
    variances are involved", Biometrika 34 (1947) 28-35.

    Examples
    --------
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
    >>> (came,) = lw.what_came_of_it(session, session, [lw.WorthTrying(1, "minimum_speed")])
    >>> came.time.difference  # against itself
    0.0
    """
    then = corners_today(items, session.track)
    items = then.items
    if not items:
        return ()
    clean = [clean_passes(s.laps, s.bare_passes) for s in (previous, session)]
    if any(table.empty for table in clean):
        return ()
    spans = span_stations(session.track, pd.concat(clean, ignore_index=True))
    corners = {item.corner for item in items}
    before, after = (
        _timed(s, table, spans, corners)
        for s, table in zip((previous, session), clean, strict=True)
    )
    if noted is None:
        written, corners_now = session.notes.tried, session.track.corners
        tried = what_was_tried(written, items, corners_now, then.numbers)
        noted = {one.item: one.entries for one in tried.noted}
    out = []
    for item in items:
        rows = before.of(item.corner), after.of(item.corner)
        if len(rows[0]) and len(rows[1]):
            corner = next(c for c in session.track.corners if c.order == item.corner)
            shared = [_shared_variance(x, item.code, corner) for x in (previous, session)]
            came = _came_of(item, before, after, rows, shared)
            out.append(FollowUp(item, *came, noted.get(item, ())))
    return tuple(out)


@dataclass(frozen=True, eq=False)
class _Timed:
    """Clean passes with their times, and the errors of those through the corners of interest."""

    passes: pd.DataFrame
    rows: npt.NDArray[np.intp]
    cov_s2: Floats

    def of(self, corner: int) -> npt.NDArray[np.intp]:
        """Positions of one corner's rows."""
        return np.flatnonzero(self.passes["corner"].to_numpy() == corner)

    def common_variance(self, rows: npt.NDArray[np.intp]) -> float:
        """Error that a corner's spans share: the mean covariance between different passes."""
        at = np.searchsorted(self.rows, rows)
        cov = self.cov_s2[np.ix_(at, at)]
        n = len(rows)
        return float((cov.sum() - np.trace(cov)) / (n * (n - 1))) if n > 1 else float(cov[0, 0])


def _timed(
    session: _Session, clean: pd.DataFrame, spans: pd.DataFrame, corners: set[int]
) -> _Timed:
    """Time the passes of all corners: the others tell each lap's pace."""

    def make() -> _Timed:
        return _freshly_timed(session, clean, spans, corners)

    return session.shelf.get("timed passes", make, spans, corners)


def _freshly_timed(
    session: _Session, clean: pd.DataFrame, spans: pd.DataFrame, corners: set[int]
) -> _Timed:
    traces = {int(n): session.trace(int(n)) for n in clean["lap"].unique()}
    track, motion = session.track, session.motion
    passes, moments = timed_passes(track, session.laps, clean, traces, spans)
    rows = np.flatnonzero(passes["corner"].isin(corners))
    if not len(rows):
        return _Timed(passes, rows, np.zeros((0, 0)))
    covs = span_covariances(track, motion, passes.iloc[rows], moments[rows])
    return _Timed(passes, rows, covs["span"])


def _came_of(
    item: WorthTrying, before: _Timed, after: _Timed,
    rows: tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]], shared: list[float],
) -> tuple[Difference, Difference, Difference]:  # fmt: skip
    """Change of the time, of the same against the rest of the lap, and of the feature."""
    sides = (before, after)
    spans = [e.passes["span_s"].to_numpy()[r] for e, r in zip(sides, rows, strict=True)]
    common = [e.common_variance(r) for e, r in zip(sides, rows, strict=True)]
    time = difference_of_means(spans[0], spans[1], common[0], common[1])
    excess = _against_rest(before, after)
    rest = difference_of_means(excess[0][rows[0]], excess[1][rows[1]], common[0], common[1])
    column = COLUMNS[item.code]
    values = [
        e.passes[column].to_numpy(dtype=np.float64)[r] for e, r in zip(sides, rows, strict=True)
    ]
    feature = difference_of_means(*(v[np.isfinite(v)] for v in values), *shared)
    return time, rest, feature


def _shared_variance(session: _Session, code: str, corner: Corner) -> float:
    """Variance in square metres of a feature's place that all passes of a session share."""
    path = session.track.path
    if code == "minimum_speed" or path is None:
        return 0.0
    heading = float(path.at(np.mod([corner.apex_m], session.track.length_m)).heading_rad[0])
    along = np.array([np.cos(heading), np.sin(heading)])
    axis = np.array([-along[1], along[0]]) if code == "line" else along
    return float(axis @ session.placing.cov_m2 @ axis)


def _against_rest(before: _Timed, after: _Timed) -> tuple[Floats, Floats]:
    """Spans of both sessions without each lap's pace, which its own corners tell."""
    tables = before.passes, after.passes
    apart = int(tables[0]["lap"].max()) + 1
    both = pd.concat([tables[0], tables[1].assign(lap=tables[1]["lap"] + apart)], ignore_index=True)
    excess = without_lap(both, "span_s")
    return excess[: len(tables[0])], excess[len(tables[0]) :]
