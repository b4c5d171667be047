"""What the first lap cost against a flying one, and where."""

from dataclasses import dataclass

import numpy as np

from lapwright.arguments import checked
from lapwright.laps.comparison import Comparison
from lapwright.session.session import Session


@dataclass(frozen=True, slots=True)
class CornerCost:
    """
    Time that a lap lost from before one corner to before the next.

    Attributes
    ----------
    corner : int
        Its number; 0 for what the lap began with at the line.
    lost_s, lost_sd_s : float
        Negative where gained. [s]
    """

    corner: int
    lost_s: float
    lost_sd_s: float


@dataclass(frozen=True, eq=False)
class FirstLap:
    """
    The first timed lap against a flying one.

    Attributes
    ----------
    comparison : Comparison
        Counted from the start line; `lapwright.Session.launches` has what was before it.
    typical : bool
        Whether the flying lap is the typical clean lap; else it is the best one.
    corners : tuple of CornerCost
        In order of the circuit; they add up to the difference of the two laps.

    Examples
    --------
    >>> first = lw.first_lap(lw.open_session("sample_sessions/sunday_race.csv"))
    >>> most = max(first.corners, key=lambda one: one.lost_s)
    >>> most.corner, f"{most.lost_s:.1f} s"  # from the start line to corner 1
    (0, '3.5 s')
    """

    comparison: Comparison
    typical: bool
    corners: tuple[CornerCost, ...]


@checked
def first_lap(session: Session) -> FirstLap | None:
    """
    Compare the first timed lap of a session with a flying one.

    Parameters
    ----------
    session : Session

    Returns
    -------
    FirstLap or None
        None where there is no full lap, or no clean lap to compare it with.

    Raises
    ------
    LogError, TrackError
        As `Session.laps`.

    Examples
    --------
    >>> race = lw.open_session("sample_sessions/sunday_race.csv")
    >>> first = lw.first_lap(race)
    >>> f"{first.comparison.time_difference_s:.1f} s", first.typical
    ('4.1 s', True)
    """
    timed = session.timed_laps
    if not timed:
        return None
    typical = session.typical_lap
    usable = typical is not None and typical != timed[0]
    flying = typical if usable else session.best_lap
    if flying is None or flying == timed[0]:
        return None
    comparison = session.compare(timed[0], flying)
    return FirstLap(comparison, usable, _by_corner(comparison))


def _by_corner(comparison: Comparison) -> tuple[CornerCost, ...]:
    """Sum the ledger by corner; neighbours share an edge, so their errors do not just add up."""
    ledger = comparison.ledger
    lost = ledger["difference_s"].to_numpy()
    out = []
    for corner in sorted(int(n) for n in ledger["corner"].unique()):
        pick = (ledger["corner"] == corner).to_numpy(dtype=np.float64)
        variance = float(pick @ comparison.ledger_cov_s2 @ pick)
        out.append(CornerCost(corner, float(pick @ lost), float(np.sqrt(max(variance, 0.0)))))
    return tuple(out)
