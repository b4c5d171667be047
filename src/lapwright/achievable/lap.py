"""
The lap that a driver's own envelope allows on their own usual line, with its error bars.

The envelope's values are moved one at a time by a little, all variants side by side, which tells
how the lap moves with each.  What one lap more or less would have done to the values then says how
the laps' scatter goes into the lap (the influence of each lap, from which the variance of any mean
follows; from memory: P. J. Huber, "Robust Statistics", Wiley, 1981, on influence curves).  Scatter
that corners of one lap share is in it.  To that comes what the model itself is wrong by.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.achievable.envelope import Envelope, limits_of
from lapwright.achievable.solver import lap_times, steady_lap
from lapwright.achievable.usual_line import UsualLine
from lapwright.achievable.zones import Zones
from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]

# What the model is off by, standard deviation as a share of the time and of the speed: measured on
# simulated sessions, other ones than the page on the method reports.
_MODEL_LAP, _MODEL_PART, _MODEL_SPEED = 0.0036, 0.0080, 0.0150
_TAIL = 0.975
_NORMAL_95 = 1.959964
_MOVED = 0.01


@dataclass(frozen=True, eq=False)
class Bars:
    """
    What the error bars are made of, for q figures.

    Attributes
    ----------
    scatter_sd : ndarray, shape (q,)
        By the laps' scatter.
    model_sd : ndarray, shape (q,)
        By the model.
    laps : int
    """

    scatter_sd: Floats
    model_sd: Floats
    laps: int

    @property
    def sd(self) -> Floats:
        """Both together."""
        return np.asarray(np.hypot(self.scatter_sd, self.model_sd))

    @property
    def half95(self) -> Floats:
        """Half of the 95 % interval: Student's t for the scatter of few laps."""
        t = t_quantile(_TAIL, self.laps - 1)
        return np.asarray(np.hypot(t * self.scatter_sd, _NORMAL_95 * self.model_sd))


@dataclass(frozen=True, eq=False)
class ModelLap:
    """
    The lap that the envelope allows, in n steps.

    Attributes
    ----------
    speed_mps, step_s : ndarray, shape (n,)
        Speed where each step begins, and time in it.
    steps_usual_s : ndarray, shape (n, 3)
        Time in each step with the usual values in place of the allowed ones: of all three; of
        braking and acceleration; of cornering.
    slopes_s, slopes_mps : ndarray, shape (n, 3, k)
        How time and speed move with each value of the envelope.
    envelope : Envelope
    """

    speed_mps: Floats
    step_s: Floats
    steps_usual_s: Floats
    slopes_s: Floats
    slopes_mps: Floats
    envelope: Envelope

    def bars(self, slopes: Floats, model_sd: Floats, beside: Floats | None = None) -> Bars:
        """
        Error bars of figures that move with the envelope.

        Parameters
        ----------
        slopes : ndarray, shape (q, 3, k)
        model_sd : ndarray, shape (q,)
        beside : ndarray, shape (l, q), optional
            By how much each lap moves what the figure is taken from.

        Returns
        -------
        Bars
        """
        moved = np.einsum("qij,lij->lq", slopes, self.envelope.influence)
        moved = moved if beside is None else beside - moved
        laps = len(moved)
        elsewhere = np.einsum("qij,ij->q", slopes**2, self.envelope.spread**2)
        scatter = laps / (laps - 1) * np.sum(moved**2, axis=0)
        return Bars(np.sqrt(scatter), np.sqrt(elsewhere + model_sd**2), laps)


def model_lap(line: UsualLine, zones: Zones, envelope: Envelope) -> ModelLap:
    """
    Drive the lap that the envelope allows.

    Parameters
    ----------
    line : UsualLine
    zones : Zones
    envelope : Envelope

    Returns
    -------
    ModelLap
    """
    count, k = len(line.step_m), len(zones)
    a, u = envelope.allowed, envelope.usual
    turns = [(u, u, u), (a, u, u), (u, a, a), (a, a, a)]
    kinds = [np.stack([one[i] for i, one in enumerate(turn)]) for turn in turns]
    moved = a[None] + _MOVED * np.eye(3 * k).reshape(3 * k, 3, k)
    logs = np.concatenate([np.stack(kinds), moved]).transpose(1, 2, 0)
    limits = limits_of(count, zones, logs, envelope.drive)
    speed = steady_lap(line.step_m, line.curvature_per_m, limits)
    time = lap_times(line.step_m, speed)
    shape = (count, 3, k)
    return ModelLap(
        speed[:, 3], time[:, 3], time[:, :3],
        ((time[:, 4:] - time[:, 3:4]) / _MOVED).reshape(shape),
        ((speed[:, 4:] - speed[:, 3:4]) / _MOVED).reshape(shape), envelope,
    )  # fmt: skip


def lap_model_sd(time_s: Floats) -> Floats:
    """What a lap time of the model is off by (standard deviation). [s]."""
    return np.asarray(_MODEL_LAP * time_s)


def part_model_sd(time_s: Floats) -> Floats:
    """What the time of a part of the lap is off by. [s]."""
    return np.asarray(_MODEL_PART * time_s)


def speed_model_sd(speed_mps: Floats) -> Floats:
    """What a speed of the model is off by. [m/s]."""
    return np.asarray(_MODEL_SPEED * speed_mps)
