"""
A session on its circuit: station and offset of every fix, and which stretches were off the line.

Offsets are judged against the usual line, the median of the session's own passes, because the
reference path of a track file may come from another day, driver or receiver.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lapwright.geometry import MapMatch, Track, map_match
from lapwright.geometry.path import ReferencePath
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# A usual line hardly changes over so short a way, and a few laps fill the cell.
_CELL_M = 20.0
# Some places in each cell, so that every pass has its say.
_EVERY_M = 5.0
# Two seconds at 60 m/s: over a longer hole a straight line between the fixes leaves the track.
_HOLE_M = 120.0
# Farther than this from the usual line is beside the track, whatever the receiver does: half a
# wide track is 6 to 8 m, of which a driver's own line leaves the middle by a few.
_AWAY_M = 6.0
# Slower than a walk, and for so long that it is no single odd fix.
STANDING_MPS = 1.0
_STILL_S = 1.0
# Three standard deviations of a difference of two errors on one axis.
_TREMBLES = 3.0 * np.sqrt(2.0)


@dataclass(frozen=True, eq=False)
class TrackMapping:
    """
    A session on its circuit.

    Attributes
    ----------
    path : ReferencePath
    time_s : ndarray, shape (n,)
        Times of the fixes.
    position_m : ndarray, shape (n, 2)
    speed_mps : ndarray, shape (n,)
    station_m : ndarray, shape (n,)
        Unwrapped: one lap more is one length more. [m]
    offset_m : ndarray, shape (n,)
        From the reference path, positive to the left. [m]
    aside_m : ndarray, shape (n,)
        From the usual line, positive to the left. [m]
    slowness : ndarray, shape (n,)
        Speed over the usual speed there. [1]
    lost : ndarray of bool, shape (n,)
        Where the station goes by distance because no normal is a guide.
    still_s : float
        To tell a car that stands, its place so long before is compared with that so long after.
    station_sd_m : ndarray, shape (n,), or None
        How doubtful the station is where it goes by distance; None where it never does. [m]
    """

    path: ReferencePath
    time_s: Floats
    position_m: Floats
    speed_mps: Floats
    station_m: Floats
    offset_m: Floats
    aside_m: Floats
    slowness: Floats
    lost: Flags
    still_s: float = _STILL_S
    station_sd_m: Floats | None = None

    @cached_property
    def usual_step_s(self) -> float:
        """Usual time from fix to fix. [s]."""
        return float(np.median(np.diff(self.time_s)))

    @cached_property
    def away(self) -> Flags:
        """Fixes beside the track, shape (n,)."""
        return np.abs(self.aside_m) > _AWAY_M

    @cached_property
    def standing(self) -> Flags:
        """
        Fixes at which the car stands, shape (n,).

        A receiver without a speed whose positions tremble is never slow for long, but it is where
        it was a second before, or some seconds where its errors last seconds.
        """
        before, after = (
            np.stack([np.interp(self.time_s + d, self.time_s, p) for p in self.position_m.T])
            for d in (-self.still_s, self.still_s)
        )
        still = np.hypot(*(after - before)) < STANDING_MPS * self.still_s
        return np.asarray((self.speed_mps < STANDING_MPS) | still)

    def station_at(self, time_s: npt.ArrayLike) -> Floats:
        """Unwrapped station at some times, good to a metre."""
        return np.asarray(np.interp(np.asarray(time_s), self.time_s, self.station_m))

    def between(self, start_s: float, end_s: float) -> slice:
        """Fixes from one time to another."""
        first, last = np.searchsorted(self.time_s, [start_s, end_s])
        return slice(int(first), int(last))


def map_positions(
    path: ReferencePath, time_s: Floats, position_m: Floats, velocity_mps: Floats | None
) -> MapMatch:
    """Follow a path with positions; see `lapwright.geometry.map_matching`."""
    return map_match(path, time_s, position_m[:, 0], position_m[:, 1], velocity_mps)


def map_motion(track: Track, motion: Motion) -> TrackMapping:
    """
    Map a motion to its track.

    Parameters
    ----------
    track : Track
        With a path, on the motion's plane.
    motion : Motion

    Returns
    -------
    TrackMapping
    """
    if track.path is None:
        msg = "the track has no path to map to"
        raise ValueError(msg)
    state = motion.at(motion.fix_time_s)
    followed = map_positions(track.path, state.time_s, state.position_m, state.velocity_mps)
    speed = state.speed_mps
    usual_offset, usual_speed, cell = usual_pass(
        followed.station_m, followed.offset_m, speed, track.path.length_m
    )
    return TrackMapping(
        track.path,
        state.time_s,
        state.position_m,
        speed,
        followed.station_m,
        followed.offset_m,
        followed.offset_m - usual_offset[cell],
        speed / np.maximum(usual_speed[cell], 1.0),
        followed.lost,
        # So long that what lasts seconds seldom moves a standing car by more than it may move.
        max(_STILL_S, _TREMBLES * motion.best.smoothing.noise.coloured_m / STANDING_MPS),
        followed.station_sd_m if followed.lost.any() else None,
    )


def usual_pass(
    station_m: Floats, offset_m: Floats, speed_mps: Floats, length_m: float
) -> tuple[Floats, Floats, npt.NDArray[np.intp]]:
    """
    The usual offset and speed along the lap.

    Parameters
    ----------
    station_m, offset_m, speed_mps : ndarray, shape (n,)
    length_m : float

    Returns
    -------
    offset_m, speed_mps : ndarray, shape (cells,)
        Medians over passes; of two passes and the path itself where there are but two.
    cell : ndarray of int, shape (n,)
        The cell of each fix.
    """
    place, offsets, speeds = _each_few_metres(station_m, offset_m, speed_mps)
    at, cells = station_cells(place, length_m)
    votes = _path_votes(at, cells, length_m)
    offset = cell_medians(
        np.concatenate([offsets, np.zeros(len(votes))]), np.concatenate([at, votes]), cells
    )
    near = np.abs(offsets - offset[at]) < _AWAY_M
    speed = cell_medians(speeds[near], at[near], cells)
    return offset, speed, station_cells(station_m, length_m)[0]


def _path_votes(cell: npt.NDArray[np.intp], cells: int, length_m: float) -> npt.NDArray[np.intp]:
    """
    Cells in which the path counts as a pass, each as often as a pass has places in it.

    Two passes have no usual line: where one of them is off the road, either may be. The path
    decides between them. One pass is its own usual line, however roughly the path is drawn.
    """
    places = length_m / cells / _EVERY_M
    passes = np.bincount(cell, minlength=cells) / places
    two = np.flatnonzero((passes > 1.5) & (passes < 2.5))
    return np.repeat(two, max(1, round(places)))


def _each_few_metres(
    station_m: Floats, offset_m: Floats, speed_mps: Floats
) -> tuple[Floats, Floats, Floats]:
    """
    Station, offset and speed every few metres driven, between the fixes where need be.

    A pass at speed then has as much say in every cell as one that crawls to its pit box, whatever
    the rate: at one fix a second a fast car leaves most cells without a fix.
    """
    driven = np.maximum.accumulate(station_m)
    step = np.diff(driven)
    fresh = np.concatenate([[True], step > 0.0])
    driven, offset, speed = driven[fresh], offset_m[fresh], speed_mps[fresh]
    place = np.arange(driven[0], driven[-1] + 0.5 * _EVERY_M, _EVERY_M)
    before = np.clip(np.searchsorted(driven, place) - 1, 0, max(len(driven) - 2, 0))
    # Nothing is known of a hole in the log.
    known = np.diff(driven, append=np.inf)[before] < _HOLE_M
    place = place[known]
    return place, np.interp(place, driven, offset), np.interp(place, driven, speed)


def station_cells(station_m: Floats, length_m: float) -> tuple[npt.NDArray[np.intp], int]:
    """Cut the lap into cells of about 20 m: the cell of each station, and how many there are."""
    cells = max(8, round(length_m / _CELL_M))
    cell = np.floor(np.mod(station_m, length_m) / length_m * cells).astype(np.intp)
    return np.minimum(cell, cells - 1), cells


def cell_medians(values: Floats, cell: npt.NDArray[np.intp], cells: int) -> Floats:
    """Median of the values in each cell; an empty cell takes its neighbours' (cyclic)."""
    order = np.lexsort((values, cell))
    count = np.bincount(cell, minlength=cells)
    end = np.cumsum(count)
    middle = end - count + (count - 1) // 2
    filled = count > 0
    if not filled.any():
        return np.zeros(cells)
    out = np.empty(cells)
    out[filled] = values[order][middle[filled]]
    at = np.flatnonzero(filled)
    return np.asarray(np.interp(np.arange(cells), at, out[at], period=cells))
