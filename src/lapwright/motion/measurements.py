"""
What a log measures, as numbers on the local plane.

Three kinds of velocity are told apart: a vector (speed and course), the speed along the way (no
course), and none.  Each measurement has a variance factor of its own: what the receiver's accuracy
columns say about it, and what outlier weighting adds.
"""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.ingest.fixes_on_plane import fixes_on_plane
from lapwright.ingest.log import Log
from lapwright.plane import Plane

Floats = npt.NDArray[np.float64]
VelocityKind = Literal["vector", "speed", "none"]

# Below this speed a course is random and a speed is biased upwards by its own noise.
_SLOW_MPS = 2.0
# Standard deviation of each component of velocity when only a slow speed is known.
_SLOW_SD_MPS = 1.0


@dataclass(frozen=True, eq=False)
class Measurements:
    """
    Positions and velocities of one log on a plane.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
    position_m : ndarray, shape (n, 2)
        East and north.
    position_factor : ndarray, shape (n,)
        Variance relative to the log's usual fix; ``inf`` for a fix that is no news.
    kind : {"vector", "speed", "none"}
    velocity_mps : ndarray, shape (n, 2)
        East and north, zeros unless ``kind`` is ``"vector"``.
    speed_mps : ndarray, shape (n,)
        Speed over ground, zeros for ``"none"``.
    velocity_factor : ndarray, shape (n,)
        As for positions; ``inf`` where there is no velocity.
    stated_sd_m : float or None
        Median of the receiver's own statement of its horizontal accuracy, if it makes one.
    """

    time_s: Floats
    position_m: Floats
    position_factor: Floats
    kind: VelocityKind
    velocity_mps: Floats
    speed_mps: Floats
    velocity_factor: Floats
    stated_sd_m: float | None

    def __len__(self) -> int:
        return len(self.time_s)

    def weighted(self, position_factor: Floats, velocity_factor: Floats) -> "Measurements":
        """Multiply the variance factors."""
        return replace(
            self,
            position_factor=self.position_factor * position_factor,
            velocity_factor=self.velocity_factor * velocity_factor,
        )

    def without_velocity(self) -> "Measurements":
        """Return the positions alone."""
        return replace(self, kind="none", velocity_factor=np.full(len(self), np.inf))


def _column(fixes: pd.DataFrame, name: str) -> Floats | None:
    if name not in fixes or not fixes[name].notna().any():
        return None
    return fixes[name].to_numpy(dtype=np.float64)


def _relative_variance(stated_sd: Floats | None, n: int) -> tuple[Floats, float | None]:
    """Variance factors from an accuracy column, about its median; an absurd value counts less."""
    if stated_sd is None:
        return np.ones(n), None
    good = np.isfinite(stated_sd) & (stated_sd > 0.0)
    if not good.any():
        return np.ones(n), None
    usual = float(np.median(stated_sd[good]))
    ratio = np.where(good, stated_sd / usual, 1.0)
    return np.clip(ratio, 0.5, 100.0) ** 2, usual


def measurements(log: Log, plane: Plane) -> Measurements:
    """
    Put a log's fixes on a plane.

    Parameters
    ----------
    log : Log
    plane : Plane

    Returns
    -------
    Measurements
    """
    fixes = log.fixes
    n = len(fixes)
    east, north = fixes_on_plane(log, plane)
    position_factor, stated = _relative_variance(_column(fixes, "position_sd_m"), n)
    frozen = fixes["frozen"].to_numpy(dtype=bool)
    position_factor[frozen] = np.inf
    kind, velocity, speed, velocity_factor = _velocity(fixes)
    velocity_factor[frozen] = np.inf
    return Measurements(
        time_s=fixes["time_s"].to_numpy(dtype=np.float64),
        position_m=np.stack([east, north], axis=-1),
        position_factor=position_factor,
        kind=kind,
        velocity_mps=velocity,
        speed_mps=speed,
        velocity_factor=velocity_factor,
        stated_sd_m=stated,
    )


def _velocity(fixes: pd.DataFrame) -> tuple[VelocityKind, Floats, Floats, Floats]:
    n = len(fixes)
    velocity, nothing = np.zeros((n, 2)), np.full(n, np.inf)
    speed = _column(fixes, "speed_mps")
    if speed is None:
        return "none", velocity, np.zeros(n), nothing
    has_speed = np.isfinite(speed)
    speed = np.where(has_speed, speed, 0.0)
    factor, _ = _relative_variance(_column(fixes, "speed_sd_mps"), n)
    course = _column(fixes, "course_deg")
    if course is not None:
        has_course = np.isfinite(course)
        moving = has_speed & (speed > _SLOW_MPS)
        if (moving & has_course).sum() > 0.5 * moving.sum() and moving.any():
            angle = np.deg2rad(np.where(has_course, course, 0.0))
            velocity = speed[:, None] * np.stack([np.sin(angle), np.cos(angle)], axis=-1)
            usable = has_speed & (has_course | (speed < 0.3))
            return "vector", velocity, speed, np.where(usable, factor, np.inf)
    return "speed", velocity, speed, np.where(has_speed, factor, np.inf)


def slow(m: Measurements) -> npt.NDArray[np.bool_]:
    """Fixes whose speed is too small to tell a direction or to be unbiased. Shape (n,)."""
    return np.asarray(m.speed_mps < _SLOW_MPS)


def slow_speed_sd_mps(m: Measurements) -> Floats:
    """Standard deviation of each velocity component where only a slow speed is known."""
    return np.maximum(m.speed_mps, 0.0) + 0.3 * _SLOW_SD_MPS
