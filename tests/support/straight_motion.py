"""A motion along one heading whose errors are known, so that every error bar has a closed form."""

from dataclasses import dataclass, field
from typing import cast

import numpy as np
import numpy.typing as npt

from lapwright.motion import Motion, Posterior
from lapwright.motion.motion_state import MotionState

Floats = npt.NDArray[np.float64]

HEADING_RAD = np.deg2rad(30.0)
AHEAD = np.array([np.cos(HEADING_RAD), np.sin(HEADING_RAD)])
LEFT = np.array([-AHEAD[1], AHEAD[0]])
# What all positions share, what each has of its own, and the sd of velocity and acceleration, on
# each axis and at each moment.
SHARED_M, OWN_M, VELOCITY_MPS, ACCEL_MPS2 = 1.5, 0.1, 0.07, 0.2


@dataclass(frozen=True)
class Straight:
    """Speed and accelerations in straight lines between moments; 10 m along the way a second."""

    knots_s: Floats
    speed_mps: Floats
    along_mps2: Floats
    left_mps2: Floats = field(default_factory=lambda: np.zeros(2))
    left_knots_s: Floats = field(default_factory=lambda: np.array([0.0, 100.0]))
    clock_rate_sd: float = 0.0
    # What the errors of the speed and of the acceleration to the left have in common.
    speed_left_cov: float = 0.0
    start_s: float = 0.0
    end_s: float = 100.0

    def at(self, time_s: npt.ArrayLike) -> MotionState:
        t = np.atleast_1d(np.asarray(time_s, dtype=np.float64))
        speed = np.interp(t, self.knots_s, self.speed_mps)[:, None]
        along = np.interp(t, self.knots_s, self.along_mps2)[:, None]
        left = np.interp(t, self.left_knots_s, self.left_mps2)[:, None]
        return MotionState(t, 10.0 * t[:, None] * AHEAD, speed * AHEAD, along * AHEAD + left * LEFT)

    def posterior(self, time_s: Floats, weights: Floats, *, best_only: bool = False) -> Posterior:
        # Passes of several laps are put at the same moment and err each for itself.
        same = np.eye(len(time_s))
        p, v, a = (weights[:, k : k + 2] @ weights[:, k : k + 2].T for k in (0, 2, 4))
        own = v * VELOCITY_MPS**2 + a * ACCEL_MPS2**2
        both = np.outer(weights[:, 2:4] @ AHEAD, weights[:, 4:6] @ LEFT) * self.speed_left_cov
        own = own + both + both.T
        cov = p * (SHARED_M**2 + OWN_M**2 * same) + own * same
        return Posterior(np.ones(1), np.zeros((1, len(time_s))), cov[None])

    def sds(
        self, time_s: Floats, weights: Floats, *, best_only: bool = False,
        more_variance: Floats | float = 0.0,
    ) -> Floats:  # fmt: skip
        k = len(time_s)
        all_ = self.posterior(np.ravel(time_s), weights.reshape(-1, 6), best_only=best_only)
        sums = all_.combined(np.kron(np.eye(k), np.ones(np.size(time_s) // k)))
        return sums.widened(np.eye(k) * more_variance).sd

    def motion(self) -> Motion:
        """As what it stands in for."""
        return cast("Motion", self)
