"""`MotionState`: the car at some times, as far as its most probable trajectory tells."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class MotionState:
    """
    The car at some times: the most probable trajectory.

    Attributes
    ----------
    time_s : ndarray, shape (k,)
        Since the log's first usable fix. [s]
    position_m, velocity_mps, accel_mps2 : ndarray, shape (k, 2)
        East and north on the motion's plane.
    """

    time_s: Floats
    position_m: Floats
    velocity_mps: Floats
    accel_mps2: Floats

    @property
    def speed_mps(self) -> Floats:
        """Speed over ground, shape (k,)."""
        return np.hypot(self.velocity_mps[:, 0], self.velocity_mps[:, 1])

    @property
    def heading_rad(self) -> Floats:
        """Direction of travel, anticlockwise from east (not a compass course), shape (k,)."""
        return np.arctan2(self.velocity_mps[:, 1], self.velocity_mps[:, 0])

    @property
    def direction(self) -> Floats:
        """Unit vector along the way, shape (k, 2); zero at standstill."""
        speed = self.speed_mps
        return self.velocity_mps / np.where(speed > 0.0, speed, 1.0)[:, None]

    @property
    def accel_long_mps2(self) -> Floats:
        """Longitudinal acceleration, negative when braking (ISO 8855), shape (k,)."""
        return np.asarray(np.einsum("kj,kj->k", self.accel_mps2, self.direction))

    @property
    def accel_lat_mps2(self) -> Floats:
        """Lateral acceleration, positive in a left turn (ISO 8855), shape (k,)."""
        d, a = self.direction, self.accel_mps2
        return np.asarray(d[:, 0] * a[:, 1] - d[:, 1] * a[:, 0])
