"""
`Ring`: a closed smooth line as evenly spaced points, and the fit of one to many noisy points.

A ring is what a reference path is while it is being found.  All its sums are
Fourier sums, which are exact for a smooth closed line, need nothing but
numpy, and are fast enough to be repeated a dozen times.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Floats

# A quarter of the tightest radius a path may have: chords are then within 6 cm of the arc.
SPACING_M = 2.0
# Far below what a foot's station is worth, far above rounding.
_STILL_M = 1e-7


@dataclass(frozen=True, eq=False)
class Ring:
    """
    A closed line in driving order.

    Attributes
    ----------
    east_m, north_m : ndarray, shape (n,)
        Points evenly spaced along the line, the first not repeated. [m]
    heading_rad : ndarray, shape (n,)
        Direction of travel, from east to north. [rad]
    curvature_per_m : ndarray, shape (n,)
        Positive to the left. [1/m]
    length_m : float
        Length of the closed line. [m]
    """

    east_m: Floats
    north_m: Floats
    heading_rad: Floats
    curvature_per_m: Floats
    length_m: float

    @property
    def spacing_m(self) -> float:
        """Distance along the line between neighbouring points [m]."""
        return self.length_m / len(self.east_m)

    @property
    def station_m(self) -> Floats:
        """Distance of every point from the first one [m]."""
        stations: Floats = np.arange(len(self.east_m), dtype=np.float64) * self.spacing_m
        return stations

    @property
    def turning(self) -> float:
        """Whole turns of the heading in one lap: +1 anticlockwise, -1 clockwise, 0 an eight."""
        return float(np.round(self.curvature_per_m.sum() * self.spacing_m / (2 * np.pi)))


def _derivative(values: Floats, order: int) -> Floats:
    """Derivative of a periodic sequence with respect to its index."""
    wave = 2j * np.pi * np.fft.rfftfreq(len(values))
    out: Floats = np.fft.irfft(np.fft.rfft(values) * wave**order, len(values))
    return out


def cyclic_interpolate(values: Floats, position: Floats) -> Floats:
    """
    Cubic interpolation in a periodic sequence.

    Parameters
    ----------
    values : ndarray, shape (n,)
        One period of a smooth sequence.
    position : ndarray, shape (k,)
        Where to read it, in units of its index; any real number.

    Returns
    -------
    ndarray, shape (k,)
    """
    count = len(values)
    slope = _derivative(values, 1)
    whole = np.floor(position).astype(np.int64)
    u = position - whole
    left, right = whole % count, (whole + 1) % count
    rise = values[right] - values[left]
    a, b = slope[left] - rise, rise - slope[right]
    out: Floats = values[left] + u * rise + u * (1 - u) * (a * (1 - u) + b * u)
    return out


def _quick_count(wanted: float) -> int:
    """Whole number of the form 2^a 3^b 5^c just above one: Fourier sums of it are quick."""
    low = max(16.0, wanted)
    smooth = [
        2**a * 3**b * 5**c
        for b in range(8)
        for c in range(5)
        for a in [max(1, int(np.ceil(np.log2(low / (3**b * 5**c)))))]
    ]
    return int(min(smooth))


def ring_from_points(east_m: Floats, north_m: Floats, count: int | None = None) -> Ring:
    """
    Spread the points of a closed smooth line evenly.

    Parameters
    ----------
    east_m, north_m : ndarray, shape (n,)
        A smooth closed line at steps of any slowly changing length, in driving
        order, the first point not repeated. [m]
    count : int, optional
        How many points the ring gets; else one about every 2 m.

    Returns
    -------
    Ring
    """
    speed = np.hypot(_derivative(east_m, 1), _derivative(north_m, 1))
    # Length to each point: the exact integral of the interpolated speed.
    coefficients = np.fft.rfft(speed)
    wave = 2j * np.pi * np.fft.rfftfreq(len(speed))
    wave[0] = 1.0
    coefficients[0] = 0.0
    wiggle = np.fft.irfft(coefficients / wave, len(speed))
    mean = float(speed.mean())
    length_m = mean * len(speed)
    reached_m = np.arange(len(speed) + 1) * mean + np.r_[wiggle, wiggle[0]] - wiggle[0]
    count = _quick_count(length_m / SPACING_M) if count is None else count
    wanted_m = np.arange(count) * (length_m / count)
    position = np.interp(wanted_m, reached_m, np.arange(len(speed) + 1.0))
    # One Newton step: the inverse of a piecewise linear table is not smooth enough for curvature.
    table_m = mean * position + cyclic_interpolate(wiggle, position) - wiggle[0]
    position = position - (table_m - wanted_m) / cyclic_interpolate(speed, position)
    east_m, north_m = cyclic_interpolate(east_m, position), cyclic_interpolate(north_m, position)
    de, dn = _derivative(east_m, 1), _derivative(north_m, 1)
    curve = de * _derivative(north_m, 2) - dn * _derivative(east_m, 2)
    return Ring(east_m, north_m, np.arctan2(dn, de), curve / (de * de + dn * dn) ** 1.5, length_m)


def smooth_cyclic(
    values: Floats, weights: Floats, cutoff: float, order: int = 3, tolerance: float = 1e-7
) -> Floats:
    """
    Periodic penalised least squares (a smoothing spline on a ring).

    Minimises ``sum w (y - x)^2 + (cutoff / 2 pi)^(2 order) mean(w) sum (D^order x)^2``: at even
    weights a wave of length `cutoff` keeps half of its height.

    Parameters
    ----------
    values : ndarray, shape (n, k)
        What to smooth, one column a quantity; ignored where the weight is 0.
    weights : ndarray, shape (n,)
        Not negative, some positive.
    cutoff : float
        Wave length at half height, in steps.
    order : int
        Order of the penalised difference.
    tolerance : float
        Relative residual at which the iteration stops.

    Returns
    -------
    ndarray, shape (n, k)

    Notes
    -----
    Whittaker smoothing [1]_ with cyclic differences, solved by conjugate
    gradients; the Fourier solution for even weights is the preconditioner.

    References
    ----------
    .. [1] P. H. C. Eilers, "A perfect smoother", Analytical Chemistry 75
       (2003) 3631-3636, doi:10.1021/ac034173t.
    """
    count = len(values)
    share = weights / weights.mean()
    step = 2.0 * np.sin(np.pi * np.fft.rfftfreq(count))
    stiffness = ((cutoff / (2 * np.pi) * step) ** (2 * order))[:, None]
    # The fill keeps the start near the answer where there are no data.
    right = share[:, None] * np.where(share[:, None] > 0, values, 0.0)

    def through(x: Floats, gain: Floats) -> Floats:
        out: Floats = np.fft.irfft(np.fft.rfft(x, axis=0) * gain, count, axis=0)
        return out

    soften = 1.0 / (1.0 + stiffness)
    x = through(right, soften)
    residual = right - share[:, None] * x - through(x, stiffness)
    z = through(residual, soften)
    direction, power = z.copy(), (residual * z).sum(axis=0)
    target = tolerance**2 * np.maximum(power, 1e-30)
    for _ in range(200):
        if (power <= target).all():
            break
        image = share[:, None] * direction + through(direction, stiffness)
        length = power / np.maximum((direction * image).sum(axis=0), 1e-300)
        x += length * direction
        residual -= length * image
        z = through(residual, soften)
        power, last = (residual * z).sum(axis=0), power
        direction = z + direction * (power / np.maximum(last, 1e-300))
    return x


def nearest_foot(
    ring: Ring, station_m: Floats, east_m: Floats, north_m: Floats, rounds: int = 3
) -> tuple[Floats, Floats]:
    """
    Project points on a ring, each from a station near the answer.

    Parameters
    ----------
    ring : Ring
    station_m : ndarray, shape (k,)
        A first guess, within a few metres; may count laps (any real number). [m]
    east_m, north_m : ndarray, shape (k,)
        The points. [m]
    rounds : int
        Newton steps at most; fewer where none moves by more than `_STILL_M`.

    Returns
    -------
    station_m, offset_m : ndarray, shape (k,)
        Better stations, and distances to the left of the ring. [m]
    """
    count, spacing = len(ring.east_m), ring.spacing_m
    wrap = np.unwrap(np.r_[ring.heading_rad, ring.heading_rad[0]])
    station_m = station_m.copy()
    offset_m = np.zeros(len(station_m))
    for left in range(rounds, -1, -1):
        position = station_m / spacing
        whole = np.floor(position).astype(np.int64)
        u = position - whole
        a, b = whole % count, (whole + 1) % count
        heading = wrap[a] + u * (wrap[a + 1] - wrap[a])
        # The chord's sagitta of the 2 m spacing is 0.06 m at a radius of 8 m and put back here.
        bulge = -0.5 * u * (1 - u) * spacing**2 * ring.curvature_per_m[a]
        cos, sin = np.cos(heading), np.sin(heading)
        east = ring.east_m[a] + u * (ring.east_m[b] - ring.east_m[a]) - sin * bulge
        north = ring.north_m[a] + u * (ring.north_m[b] - ring.north_m[a]) + cos * bulge
        along = (east_m - east) * cos + (north_m - north) * sin
        offset_m = (north_m - north) * cos - (east_m - east) * sin
        if not left or np.abs(along).max(initial=0.0) < _STILL_M:
            break
        metric_factor = np.clip(1.0 - offset_m * ring.curvature_per_m[a], 0.4, 3.0)
        station_m += np.clip(along / metric_factor, -10.0, 10.0)
    return station_m, offset_m
