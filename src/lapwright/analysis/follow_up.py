"""
What came of the last try: the loop from one session's items to the next session's passes.

An item is judged by the same corner's passes in both sessions, timed between the same two
stations, all clean passes against all clean passes: picking the best of either would be luck.  How
the rest of the lap changed is taken out, because a warmer track makes every corner quicker.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.analysis.before_after import (
    Difference,
    difference_of_means,
    interval_text,
    quicker_by,
)
from lapwright.analysis.evidence import (
    clean_passes,
    span_covariances,
    span_stations,
    timed_passes,
    without_lap,
)
from lapwright.analysis.notes import LogNotes
from lapwright.analysis.sayings import place
from lapwright.analysis.trace import LapTrace
from lapwright.analysis.tried import what_was_tried
from lapwright.analysis.worth_trying_item import WorthTrying
from lapwright.geometry import Track
from lapwright.motion import Motion
from lapwright.units import Units

Floats = npt.NDArray[np.float64]

_COLUMNS = {
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
        Of what was to be changed: a station or an offset [m] or a speed [m/s].
    text : str
    noted : bool
        Whether the notes say that it was tried; else it was only worth trying.
    """

    item: WorthTrying
    time: Difference
    against_rest: Difference
    feature: Difference
    text: str
    noted: bool


def what_came_of_it(
    previous: _Session, session: _Session, items: Sequence[WorthTrying], units: Units | None = None
) -> tuple[FollowUp, ...]:
    """
    Compare the passes of two sessions where something was tried, or worth trying.

    Parameters
    ----------
    previous : Session
        The one before, of the same driver.
    session : Session
        On the same track; what its notes say was tried is said to have been, and no more.
    items : sequence of WorthTrying
    units : Units, optional
        For the sentences.

    Returns
    -------
    tuple of FollowUp
        One for each item whose corner has clean passes in both.
    """
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
    noted = what_was_tried(session.notes.tried, items, session.track.corners).items
    out = []
    for item in items:
        rows = before.of(item.corner), after.of(item.corner)
        if len(rows[0]) and len(rows[1]):
            out.append(
                _followed(
                    item, before, after, rows, session.track, units or Units(),
                    noted=item in noted,
                )
            )  # fmt: skip
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
    traces = {int(n): session.trace(int(n)) for n in clean["lap"].unique()}
    track, motion = session.track, session.motion
    passes, moments = timed_passes(track, session.laps, clean, traces, spans)
    rows = np.flatnonzero(passes["corner"].isin(corners))
    if not len(rows):
        return _Timed(passes, rows, np.zeros((0, 0)))
    covs = span_covariances(track, motion, passes.iloc[rows], moments[rows])
    return _Timed(passes, rows, covs["span"])


def _followed(
    item: WorthTrying, before: _Timed, after: _Timed,
    rows: tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]], track: Track, units: Units,
    *, noted: bool,
) -> FollowUp:  # fmt: skip
    sides = (before, after)
    spans = [e.passes["span_s"].to_numpy()[r] for e, r in zip(sides, rows, strict=True)]
    common = [e.common_variance(r) for e, r in zip(sides, rows, strict=True)]
    time = difference_of_means(spans[0], spans[1], common[0], common[1])
    excess = _against_rest(before, after)
    rest = difference_of_means(excess[0][rows[0]], excess[1][rows[1]], common[0], common[1])
    column = _COLUMNS[item.code]
    values = [
        e.passes[column].to_numpy(dtype=np.float64)[r] for e, r in zip(sides, rows, strict=True)
    ]
    feature = difference_of_means(*(v[np.isfinite(v)] for v in values))
    corner = next(c for c in track.corners if c.order == item.corner)
    where = place(corner)
    what = f"{_TRIED[item.code]} at {where[0].lower()}{where[1:]}"
    opening = f"You tried {what}" if noted else f"Worth trying last time was {what}"
    text = f"{opening}: {_came(item.code, time, rest, feature, units)}"
    return FollowUp(item, time, rest, feature, text, noted)


def _against_rest(before: _Timed, after: _Timed) -> tuple[Floats, Floats]:
    """Spans of both sessions without each lap's pace, which its own corners tell."""
    tables = before.passes, after.passes
    apart = int(tables[0]["lap"].max()) + 1
    both = pd.concat([tables[0], tables[1].assign(lap=tables[1]["lap"] + apart)], ignore_index=True)
    excess = without_lap(both, "span_s")
    return excess[: len(tables[0])], excess[len(tables[0]) :]


def _came(code: str, time: Difference, rest: Difference, feature: Difference, units: Units) -> str:
    laps = f"{time.count_before} clean passes then, {time.count_after} now"
    said = ""
    if np.isfinite(feature.difference):
        said = _feature_text(code, feature, units) + "; "
    said += f"{time.before:.2f} s before, {time.after:.2f} s after ({laps})"
    if not np.isfinite(rest.low95):
        return f"{said}. That is too few passes to judge by."
    said += (
        f". Against the rest of the lap it is {quicker_by(rest.difference)}, "
        f"95 % interval {interval_text(rest)}"
    )
    if rest.too_few:
        return f"{said}; too few passes to lean on."
    return f"{said}." if rest.resolved else f"{said}: not resolved, it may as well be nothing."


_TRIED = {
    "braking": "another braking point",
    "minimum_speed": "a higher minimum speed",
    "throttle": "earlier throttle",
    "line": "another line",
}


def _feature_text(code: str, feature: Difference, units: Units) -> str:
    change = feature.difference
    if code == "minimum_speed":
        return (
            f"minimum speed {units.speed_of(feature.before):.1f} {units.speed} before, "
            f"{units.speed_of(feature.after):.1f} {units.speed} after"
        )
    if code == "line":
        side = "left" if change >= 0.0 else "right"
        far = f"{abs(units.distance_of(change)):.1f} {units.distance}"
        return f"at the apex {far} farther to the {side} than before"
    what = "braking" if code == "braking" else "throttle"
    far = f"{abs(units.distance_of(change)):.0f} {units.distance}"
    return f"{what} {far} {'later' if change >= 0.0 else 'earlier'} than before"
