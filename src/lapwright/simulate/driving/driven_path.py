"""`DrivenPath`: the way a car takes, as a curve over progress along the road."""

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicHermiteSpline, CubicSpline

from lapwright.simulate.circuit.circuits import Circuit

Floats = npt.NDArray[np.float64]


class DrivenPath:
    """
    The way a car takes.

    Parameters
    ----------
    circuit : Circuit
    progress_m : ndarray, shape (n,)
        Nodes along the centre line, rising. [m]
    offset_m : ndarray, shape (n,)
        Of the way from the centre line, left positive. [m]

    Attributes
    ----------
    step_m : ndarray, shape (n - 1,)
        Length of the way from each node to the next. [m]
    travelled_m : ndarray, shape (n,)
        Length of the way up to each node. [m]
    curvature_per_m : ndarray, shape (n,)
        Of the way itself, left positive. [1/m]

    Raises
    ------
    ValueError
        If the way passes the inside centre of a corner, where station loses its meaning.
    """

    def __init__(self, circuit: Circuit, progress_m: Floats, offset_m: Floats) -> None:
        self._offset = CubicSpline(progress_m, offset_m)
        middle = (progress_m[1:] + progress_m[:-1]) / 2
        rate, rate_middle = (self._rate(circuit, s) for s in (progress_m, middle))
        # Simpson's rule.
        self.step_m = np.diff(progress_m) / 6 * (rate[1:] + 4 * rate_middle + rate[:-1])
        self.travelled_m = np.r_[0.0, np.cumsum(self.step_m)]
        self._progress = CubicHermiteSpline(self.travelled_m, progress_m, 1 / rate)
        points = CubicSpline(progress_m, circuit.place(progress_m, offset_m))
        d1, d2 = points(progress_m, 1), points(progress_m, 2)
        cross = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
        self.curvature_per_m = np.asarray(cross / np.hypot(d1[:, 0], d1[:, 1]) ** 3)

    def _rate(self, circuit: Circuit, progress_m: Floats) -> Floats:
        """Metres travelled per metre of progress."""
        along = 1.0 - self._offset(progress_m) * circuit.curvature(progress_m)
        if along.min() < 0.2:
            where = float(progress_m[int(np.argmin(along))] % circuit.length_m)
            msg = (
                f"the driven line passes the inside centre of a corner at {where:.0f} m; "
                "smooth the centre line more, or drive nearer to it"
            )
            raise ValueError(msg)
        return np.asarray(np.hypot(along, self._offset(progress_m, 1)))

    def progress_at(self, travelled_m: Floats) -> Floats:
        """Progress after so many metres of the way [m]."""
        return np.asarray(self._progress(travelled_m))

    def offset_at(self, progress_m: Floats) -> Floats:
        """Offset from the centre line at any progress [m]."""
        return np.asarray(self._offset(progress_m))
