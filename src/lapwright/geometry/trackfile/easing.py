"""
Rounding off what is sharper than any car can turn, in paths drawn by hand.

Stations and offsets mean something only within the radius of the path, so a
kink drawn with a few clicks of a mouse would cost the station of every lap.
"""

import numpy as np
from numpy.typing import NDArray

from lapwright.geometry.path import ReferencePath

Floats = NDArray[np.float64]

MIN_RADIUS_M = 8.0
_STEP_M = 1.0
# Width of the smoothing, and of the stretch around a kink that is smoothed. [m]
_SMOOTHING_M, _AROUND_M = 2.5, 6.0
_ROUNDS = 400


def eased(path: ReferencePath, least_radius_m: float = MIN_RADIUS_M) -> ReferencePath:
    """
    Return a path that nowhere bends more sharply than a radius.

    Parameters
    ----------
    path : ReferencePath
        Any closed path.
    least_radius_m : float
        The radius. [m]

    Returns
    -------
    path : ReferencePath
        The very same path where it is not too sharp anywhere; else one that differs
        only around the kinks, with station 0 at the same place to within the change.

    Raises
    ------
    ValueError
        If the path cannot be made so, being smaller than that itself.
    """
    most_per_m = 1.0 / least_radius_m
    for _ in range(_ROUNDS):
        sharp = np.abs(path.at(path.stations(_STEP_M / 2.0)).curvature_per_m) > most_per_m
        if not sharp.any():
            return path
        path = _rounded_where(path, sharp[::2])
        if path.length_m < 2.0 * np.pi * least_radius_m:
            break
    msg = f"the path bends more sharply than a radius of {least_radius_m:g} m"
    raise ValueError(msg)


def _rounded_where(path: ReferencePath, sharp: NDArray[np.bool_]) -> ReferencePath:
    """Smooth a path once around the places that are too sharp."""
    station = np.arange(len(sharp)) * (path.length_m / len(sharp))
    point = path.at(station)
    shape = point.east_m + 1j * point.north_m
    # A little more than the places themselves, so that kinks between two of them count as well.
    near = _blurred(np.maximum(sharp, np.roll(sharp, 1)).astype(np.complex128), _AROUND_M).real
    weight = np.clip(near * _AROUND_M, 0.0, 1.0)
    shape = shape + weight * (_blurred(shape, _SMOOTHING_M) - shape)
    return ReferencePath(shape.real, shape.imag)


def _blurred(values: NDArray[np.complex128], width_m: float) -> NDArray[np.complex128]:
    """Convolve evenly spaced values round a loop with a Gaussian."""
    frequency = np.fft.fftfreq(len(values), _STEP_M)
    gain = np.exp(-2.0 * (np.pi * frequency * width_m) ** 2)
    return np.fft.ifft(np.fft.fft(values) * gain)
