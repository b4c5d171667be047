"""How a log drives over a start/finish line: inside its ends, past them, or the other way."""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.library.reverse import reversed_track
from lapwright.discovery.loop.thin import Thinned, thin
from lapwright.errors import TrackError
from lapwright.geometry.gate import Gate
from lapwright.geometry.track import Track
from lapwright.ingest.fixes_on_plane import fixes_on_plane
from lapwright.ingest.log import Log

# So far beyond the ends of a line a receiver's error may put a car that drives over it. [m]
_ERROR_M = 3.0
# What passes a line farther off than this is another part of the circuit. [m]
_BESIDE_M = 30.0


@dataclass(frozen=True, slots=True)
class LineUse:
    """
    How often a log crosses a line.

    Attributes
    ----------
    over : int
        In its direction, inside its ends.
    past : int
        In its direction, beyond its ends but near them.
    against : int
        Against its direction, inside its ends.
    beyond_m : float
        How far beyond the ends, the median of those. [m]
    """

    over: int
    past: int
    against: int
    beyond_m: float

    @property
    def only_against(self) -> bool:
        """Whether the circuit was driven the other way."""
        return self.over == 0 and self.against > max(self.past, 1)

    @property
    def trouble(self) -> str:
        """Why the line makes no laps of the log; '' where it does."""
        if self.over > 0 and self.over >= self.past:
            return ""
        if self.only_against:
            return (
                f"the log crosses the start/finish line {self.against} times, only against its "
                "direction"
            )
        if self.past:
            times = "once" if self.past == 1 else f"{self.past} times"
            return (
                f"the log goes past the end of the start/finish line {times}, about "
                f"{self.beyond_m:.0f} m beyond it"
            )
        return "the log never crosses the start/finish line"

    @property
    def remedy(self) -> str:
        """What to do about it."""
        if self.only_against:
            return "swap the ends of the line (left end first as the driver sees it)"
        return "widen or move it" if self.past else "move it onto the track"


def line_use(gate: Gate, trace: Thinned) -> LineUse:
    """
    Count how often a trace crosses a line.

    Parameters
    ----------
    gate : Gate
    trace : Thinned
        On the gate's plane.

    Returns
    -------
    LineUse
    """
    distance_m = gate.signed_distance(trace.east_m, trace.north_m)
    offset_m = gate.offset(trace.east_m, trace.north_m)
    cross = np.flatnonzero(np.signbit(distance_m[:-1]) != np.signbit(distance_m[1:]))
    # A parked car crosses the line a hundred times an hour without moving.
    cross = cross[~(trace.standing[cross] & trace.standing[cross + 1])]
    share = distance_m[cross] / (distance_m[cross] - distance_m[cross + 1])
    beside_m = np.abs(offset_m[cross] * (1 - share) + offset_m[cross + 1] * share)
    beyond_m = beside_m - gate.width_m / 2
    forward = distance_m[cross] < 0.0
    inside = beyond_m <= _ERROR_M
    past = forward & ~inside & (beyond_m < _BESIDE_M)
    return LineUse(
        int((inside & forward).sum()),
        int(past.sum()),
        int((inside & ~forward).sum()),
        float(np.median(beyond_m[past])) if past.any() else 0.0,
    )


def line_use_in(track: Track, log: Log) -> LineUse:
    """Count how often a log crosses the start/finish line of a track."""
    fixes = log.fixes
    east_m, north_m = fixes_on_plane(log, track.plane)
    return line_use(track.start_finish, thin(fixes["time_s"].to_numpy(), east_m, north_m))


def check_line_driven(track: Track, log: Log) -> None:
    """
    Refuse a start/finish line that a log passes by, or crosses only the other way.

    Parameters
    ----------
    track : Track
    log : Log
        One without a lap on the track.

    Raises
    ------
    TrackError
        It says how far from the line the log is. A log that never comes to the line, such
        as one of half a lap, is no error.
    """
    use = line_use_in(track, log)
    if use.only_against or (use.past > use.over and use.past > 1):
        what, hint = use.trouble, use.remedy
        if use.only_against and track.path is not None:
            hint = "turn line and path round (in Python: lapwright.discovery.reversed_track)"
        raise TrackError(what, log.path, hint=hint[0].upper() + hint[1:])


def way_driven(track: Track, log: Log) -> tuple[Track, str]:
    """
    Turn a track with a path the way a log drives it.

    Parameters
    ----------
    track : Track
    log : Log

    Returns
    -------
    track : Track
        Itself where the log drives it in its direction, or does not drive it at all.
    said : str
        Why it was turned round; '' where it was not.
    """
    if track.path is None:
        return track, ""
    use = line_use_in(track, log)
    if not use.only_against:
        return track, ""
    return reversed_track(track), f"{use.trouble}, so the track was turned round"
