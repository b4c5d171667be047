"""Where a log's fixes lie on a plane, worked out once."""

from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from lapwright.ingest.log import Log
from lapwright.plane import Plane

Floats = npt.NDArray[np.float64]

# The circuit's search, its path, the motion and what is odd all begin with the same positions, and
# a projection costs as much as reading the log.  Forgotten with the log.
_known: WeakKeyDictionary[Log, dict[Plane, tuple[Floats, Floats]]] = WeakKeyDictionary()


def fixes_on_plane(log: Log, plane: Plane) -> tuple[Floats, Floats]:
    """
    Positions of a log's fixes on a plane.

    Parameters
    ----------
    log : Log
    plane : Plane

    Returns
    -------
    east_m, north_m : ndarray, shape (n,)
        Not to be written to. [m]
    """
    planes = _known.setdefault(log, {})
    if plane not in planes:
        found = plane.to_metres(log.fixes["lat_deg"].to_numpy(), log.fixes["lon_deg"].to_numpy())
        for axis in found:
            axis.flags.writeable = False
        planes[plane] = found
    return planes[plane]
