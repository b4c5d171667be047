"""Kinds of random error, by name of the process; all from a numpy Generator."""

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter, lfilter_zi

Floats = npt.NDArray[np.float64]


def gauss_markov(
    rng: np.random.Generator, count: int, step_s: float, sd: float, tau_s: float
) -> Floats:
    """
    A stationary first-order Gauss-Markov process: autocorrelation ``exp(-dt / tau)``.

    Parameters
    ----------
    rng : Generator
    count : int
    step_s : float
        Between values. [s]
    sd : float
        Standard deviation at any time.
    tau_s : float
        Correlation time. [s]
    """
    share = np.exp(-step_s / tau_s)
    drive = rng.normal(0.0, 1.0, count) * sd * np.sqrt(1 - share**2)
    drive[:1] = rng.normal(0.0, 1.0) * sd  # stationary from the first value on
    return np.asarray(lfilter([1.0], [1.0, -share], drive))


def student(rng: np.random.Generator, count: int, sd: float, freedom: float) -> Floats:
    """White heavy-tailed noise (a t distribution) of the wanted standard deviation."""
    if freedom <= 2:
        msg = f"a t distribution with {freedom} degrees of freedom has no standard deviation"
        raise ValueError(msg)
    return np.asarray(rng.standard_t(freedom, count) * sd * np.sqrt((freedom - 2) / freedom))


def coloured(rng: np.random.Generator, count: int, sd: float, share: float) -> Floats:
    """Noise whose neighbours are correlated by `share`, of the wanted standard deviation."""
    drive = rng.normal(0.0, 1.0, count) * sd * np.sqrt(1 - share**2)
    drive[:1] = rng.normal(0.0, 1.0) * sd
    return np.asarray(lfilter([1.0], [1.0, -share], drive))


def tracked(values: Floats, step_s: float, tau_s: float) -> Floats:
    """
    What a receiver's own critically damped position-velocity filter makes of positions.

    It has no error at constant speed and lags by about ``tau**2`` times the acceleration.

    Parameters
    ----------
    values : ndarray, shape (n, k)
        Filtered along the first axis.

    References
    ----------
    .. [1] E. Brookner, "Tracking and Kalman Filtering Made Easy", Wiley, 1998,
       sec. 1.2.6 (critically damped g-h filter).
    """
    theta = np.exp(-step_s / tau_s)
    g, h = 1 - theta**2, (1 - theta) ** 2
    over, under = [g, h - g], [1.0, g + h - 2.0, 1.0 - g]
    begin = np.outer(lfilter_zi(over, under), values[0])
    return np.asarray(lfilter(over, under, values, axis=0, zi=begin)[0])


def low_passed(values: Floats, step_s: float, tau_s: float) -> Floats:
    """Values of shape (n, k) through a first-order low-pass, which lags by its time constant."""
    share = np.exp(-step_s / tau_s)
    begin = share * values[:1]
    return np.asarray(lfilter([1.0 - share], [1.0, -share], values, axis=0, zi=begin)[0])
